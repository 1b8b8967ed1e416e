/* The player of a set of three songs, with the limits of tests/tables/host. */
#ifndef BURST_SET_UNDER_TEST_H
#define BURST_SET_UNDER_TEST_H
#include "../../tables/host/burst_table.h"
#define BURST_SET_SONGS 3
#define BURST_SET_PAUSE_MIN_MS 25UL
#endif
