#include "support/leaks_of_others.hpp"
