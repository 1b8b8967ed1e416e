// What is wrong with a command line, said in words of ours.
#pragma once

#include <CLI/CLI.hpp>

#include "burstloom/common/error.hpp"

namespace burstloom::command {

/// Throws Error (usage) where the first word is no command.
void require_known_command(const CLI::App& app, int argc, const char* const* argv);

/// Throws Error (usage) where an option stands where another one's value belongs.
void require_values(const CLI::App& app, int argc, const char* const* argv);

/// What `problem` is about, after `app` has tried to parse; a mistyped option is told before whatever it left
/// missing.
[[nodiscard]] Error wrong_use(const CLI::App& app, const CLI::ParseError& problem);

}  // namespace burstloom::command
