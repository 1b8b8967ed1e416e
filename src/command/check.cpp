#include "command_line.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

struct CheckOptions {
  std::string input, coil;
  CaptureOptions capture;
  std::optional<double> tolerance_us;
  bool json = false;
};

void check(const CheckOptions& options, Answer& answer) {
  Progress progress(2);
  progress.next("reading");
  const JudgedInput input = read_judged_input(options.input, options.coil, options.capture);
  progress.next("judging");
  const Judgement judgement = judge_input(input, options.tolerance_us);
  progress.done();
  const BurstStream& stream = input.source.file.stream;
  answer.exit_code = judgement.verdict == Verdict::within_limits ? 0 : 1;
  if (options.json) return print_json(to_json(judgement, stream));
  print(one_line(judgement) + "\n");
  print("  " + grouped(static_cast<std::int64_t>(stream.bursts.size())) + " bursts in " +
        clock_time(stream.seconds(stream.length)) + ", judged for \"" + input.profile.name + "\"\n");
  print(describe(judgement) + sparklines(stream, input.profile, judgement));
}

}  // namespace

void add_check(CLI::App& app, Answer& answer) {
  auto* command = app.add_subcommand(
      "check", "Judges a stream or a capture (.burst .csv .vcd .wav) against a coil's limits");
  const auto options = std::make_shared<CheckOptions>();
  command->add_option("STREAM", options->input, "the stream or capture")->required();
  command->add_option("--coil", options->coil, "the coil's profile; a .burst file carries its own");
  command->add_option("--wire", options->capture.wire, "which wire of a VCD capture");
  command->add_flag("--invert", options->capture.invert, "the gate is active low");
  command->add_option("--tolerance-us", options->tolerance_us,
                      "how well the capture's edges are known, 0 to 5 (default: one sample)");
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom check capture.vcd --coil coil.toml --wire gate");
  command->callback([options, &answer] { check(*options, answer); });
}

}  // namespace burstloom::command
