#include "burstloom/command/command.hpp"

int main(int argc, char** argv) { return burstloom::run(argc, argv); }
