#include FAIL_HEADER
