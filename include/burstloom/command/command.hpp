// The command line: `burstloom SUBCOMMAND ...`.
#pragma once

namespace burstloom {

/// Runs one command as `main` would and returns its exit code: 0 done and within limits, 1 something outside the
/// limits, 2 wrong usage, 3 bad input file, 4 the machine failed us. Never throws.
int run(int argc, const char* const* argv);

}  // namespace burstloom
