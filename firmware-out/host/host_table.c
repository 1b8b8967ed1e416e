#include "burst_table.h"

__thread struct host_table host_table;
