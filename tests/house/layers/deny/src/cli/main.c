#include <locale.h>
#include <stdio.h>
