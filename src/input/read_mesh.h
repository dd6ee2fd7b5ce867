/* A mesh's vertices and facets from the STL file that a grain names. */
#ifndef SM_INPUT_READ_MESH_H
#define SM_INPUT_READ_MESH_H

#include "grain/meshport.h"
#include "input/read_params.h"

/*
 * Given: pointer of the grain, folder that its file's name is relative to, port as its rows were read.
 * Returned: port->vertices and port->facets, in the reader's arena, if a file is named.
 * Status: as sm_read_params; problems name the STL file, and carry its line where there is one.
 * Notes:
 *   1) Corners at the very same place become one vertex, and facets that two corners of are one, which programs write
 *      where a sliver rounds to nothing, are left out: their neighbours meet without them.
 *   2) The mesh is found sound here (sm_mesh_check), so that the message is about its file.
 */
enum sm_status sm_read_mesh(struct sm_reader *reader, const char *pointer, const char *folder,
                            struct sm_meshport *port) SM_MUST_CHECK;

#endif
