#include "burstloom/check/verdict_words.hpp"
#include "burstloom/coil/steps.hpp"
#include "burstloom/common/error.hpp"
#include "command_line.hpp"

namespace burstloom::command {
namespace {

struct NewOptions {
  std::string out;
  bool force = false;
};

void make_new(const NewOptions& options, Answer& answer) {
  answer.exit_code = 0;
  if (options.out.empty()) return print(profile_to_fill_in());
  write_to_edit(options.out, profile_to_fill_in(), options.force);
  print("written: " + shown(options.out) +
        "\nnext: write a value wherever a ? stands in it, then: burstloom coil show " + shown(options.out) +
        "\n");
}

struct StepsOptions {
  std::string coil, out;
  int steps = 12;
  std::optional<double> rate_hz;
  double on_time_us = 0, seconds = 10;
  bool json = false, force = false;
};

void make_steps(const StepsOptions& options, Answer& answer) {
  require_nothing_lost({options.coil}, {{options.out, OutputKind::stream}}, options.force);
  const Profile profile = read_profile(options.coil);
  const BurstStream stream = options.rate_hz
                                 ? steady_tone(profile, *options.rate_hz, options.on_time_us, options.seconds)
                                 : rising_bursts(profile, options.steps);
  const Judgement judgement = judge(stream, profile);
  if (judgement.verdict != Verdict::within_limits)
    throw Error(Fault::outside_limits, "this bench stream is not written: " + verdict_words(judgement),
                printable(options.coil, 200), "choose a lower rate, shorter bursts or less time");
  const std::string title = options.rate_hz ? "bench: steady tone" : "bench: rising bursts";
  write_file(options.out, to_burst_file({stream, title, profile.text}));
  answer.exit_code = 0;
  if (options.json) {
    Json json = command::to_json(judgement, stream);
    json["out"] = options.out;
    json["order_of_work"] = order_of_bench_work();
    return print_json(json);
  }
  print(grouped(static_cast<std::int64_t>(stream.bursts.size())) + " bursts in " +
        song_length(stream.seconds(stream.length)) + "\n" + one_line(judgement) + "\n");
  if (!options.rate_hz)
    for (const Burst& burst : stream.bursts)
      print("  at " + clock_time(stream.seconds(burst.start)) + "  " +
            with_unit(stream.microseconds(burst.on), "us") + "\n");
  print("the order of work\n");
  int number = 0;
  for (const std::string& line : order_of_bench_work())
    print("  " + std::to_string(++number) + ". " + line + "\n");
  print("written: " + shown(options.out) + "\n");
}

void add_coil_new(CLI::App& coil, Answer& answer) {
  const auto options = std::make_shared<NewOptions>();
  auto* command = coil.add_subcommand("new", "Writes a commented profile to fill in");
  command->add_option("--out", options->out, "the file to write (default: standard output)");
  add_force(*command, options->force);
  command->footer("Example:\n  burstloom coil new --out coil.toml");
  command->callback([options, &answer] { make_new(*options, answer); });
}

void add_coil_steps(CLI::App& coil, Answer& answer) {
  const auto options = std::make_shared<StepsOptions>();
  auto* command = coil.add_subcommand(
      "steps", "A bench stream: single bursts of rising on-time, one a second, or a steady tone (--rate)");
  command->add_option("COIL", options->coil, "the profile")->required();
  command->add_option("--out", options->out, "the stream to write (.burst)")->required();
  command->add_option("--steps", options->steps, "how many on-times, 2 to 200")->capture_default_str();
  auto* rate = command->add_option("--rate", options->rate_hz, "a steady tone of this break rate, Hz");
  command->add_option("--on-time", options->on_time_us, "its bursts, us")->needs(rate);
  command->add_option("--seconds", options->seconds, "its length, s")->needs(rate)->capture_default_str();
  add_force(*command, options->force);
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom coil steps coil.toml --steps 10 --out steps.burst");
  command->callback([options, &answer] { make_steps(*options, answer); });
}

}  // namespace

void add_coil(CLI::App& app, Answer& answer) {
  auto* coil = app.add_subcommand("coil", "The coil's profile: what it is and what it survives");
  coil->require_subcommand(1);
  coil->footer("Example:\n  burstloom coil show coil.toml");
  add_coil_show(*coil, answer);
  add_coil_new(*coil, answer);
  add_coil_steps(*coil, answer);
  add_coil_use(*coil, answer);
  add_coil_fit(*coil, answer);
  add_coil_parts(*coil, answer);
}

}  // namespace burstloom::command
