#include <algorithm>
#include <cstdio>
#include <cstring>
#include <exception>
#include <new>
#include <system_error>

#include "burstloom/command/command.hpp"
#include "burstloom/common/error.hpp"
#include "command_line.hpp"
#include "wrong_use.hpp"

namespace burstloom {
namespace {

using namespace command;

// Errors go where the answer would have gone: as JSON on standard output, or as a sentence on standard error.
int tell(const Error& error, bool as_json) {
  if (as_json)
    print_json(
        {{"error", {{"what", error.problem()}, {"where", error.where()}, {"do", error.what_to_do()}}}});
  else
    remark(std::string("burstloom: ") + error.what());
  return static_cast<int>(error.fault());
}

Error unforeseen(const std::exception& surprise) {
  return {Fault::machine, std::string("something unforeseen happened (") + surprise.what() + ")", "",
          "please report it with the input that caused it"};
}

int parse_and_run(CLI::App& app, int argc, const char* const* argv, const Answer& answer, bool as_json) {
  try {
    app.parse(argc, argv);
    return answer.exit_code;
  } catch (const CLI::Success& wanted) {  // --help, --version
    return app.exit(wanted);
  } catch (const CLI::ParseError& problem) {
    return tell(wrong_use(app, problem), as_json);
  }
}

}  // namespace

std::unique_ptr<CLI::App> command::make_command_line(Answer& answer) {
  auto made = std::make_unique<CLI::App>(
      "Weaves music into gate bursts that a small solid-state Tesla coil survives.", "burstloom");
  CLI::App& app = *made;
  app.set_version_flag("--version", "burstloom " BURSTLOOM_VERSION);
  app.require_subcommand(1);
  app.footer(
      "A prediction is no permission: high voltage, RF burns, ozone, noise and fire are yours to keep "
      "safe.");
  add_coil(app, answer);
  add_song(app, answer);
  add_weave(app, answer);
  add_check(app, answer);
  add_preview(app, answer);
  add_export(app, answer);
  add_send(app, answer);
  add_live(app, answer);
  add_set(app, answer);
  return made;
}

int run(int argc, const char* const* argv) {
  const bool as_json =
      std::any_of(argv, argv + argc, [](const char* word) { return std::strcmp(word, "--json") == 0; });
  try {
    Answer answer;
    const auto made = make_command_line(answer);
    CLI::App& app = *made;
    require_known_command(app, argc, argv);
    require_values(app, argc, argv);
    const int code = parse_and_run(app, argc, argv, answer, as_json);
    if (std::fflush(stdout) != 0 || std::ferror(stdout) != 0)
      return tell(Error(Fault::machine, "the answer could not be written", "standard output",
                        "make room and try again"),
                  false);
    return code;
  } catch (const Error& error) {
    return tell(error, as_json);
  } catch (const std::bad_alloc&) {
    return tell(Error(Fault::machine, "there is not enough memory", "",
                      "close other programs or use a shorter input"),
                as_json);
  } catch (const std::system_error& problem) {
    if (problem.code() != std::errc::resource_unavailable_try_again)
      return tell(unforeseen(problem), as_json);
    return tell(Error(Fault::machine, "the system gives no more threads", "",
                      "close other programs, or allow more (ulimit -u)"),
                as_json);
  } catch (const std::exception& surprise) {
    return tell(unforeseen(surprise), as_json);
  }
}

}  // namespace burstloom
