#include <algorithm>

#include "command_line.hpp"

namespace burstloom::command {

JudgedInput read_judged_input(const std::string& path, const CoilChoice& choice,
                              const CaptureOptions& options) {
  StreamFile source = read_stream(path, options);
  ChosenCoil coil = choose_coil(choice, source.file.profile, path);
  return {std::move(source), std::move(coil)};
}

std::vector<std::string> oddities_of(const CaptureSigns& capture) {
  std::vector<std::string> said;
  const auto say = [&](bool applies, const std::string& text) {
    if (applies) said.push_back(text);
  };
  say(capture.starts_high,
      "the wire is high when the capture starts: the first burst is longer than it looks");
  say(capture.ends_high, "the wire is high when the capture ends: the last burst is longer than it looks");
  say(capture.short_highs > 0, grouped(capture.short_highs) + " very short pulses, each judged as a burst");
  say(capture.short_lows > 0,
      grouped(capture.short_lows) + " very short dips, each joined to one longer burst");
  say(capture.unknown_levels > 0,
      grouped(capture.unknown_levels) + " unknown levels (x or z), taken for high");
  return said;
}

bool is_measured(const JudgedInput& input) {
  return input.source.capture && !input.source.capture->exact;
}

JudgeOptions judge_options(const std::optional<CaptureSigns>& capture, std::optional<double> tolerance_us) {
  JudgeOptions options;
  if (capture && !capture->exact) {
    options.measured = true;
    options.tolerance_us = std::min(5.0, capture->sample_us);
    options.first_is_cut = capture->starts_high;
    options.last_is_cut = capture->ends_high;
  }
  if (tolerance_us) options.tolerance_us = *tolerance_us;
  return options;
}

namespace {

Judgement judged(const JudgedInput& input, const JudgeOptions& options) {
  const BurstStream& stream = input.source.file.stream;
  Judgement judgement = judge(stream, input.coil.profile, options);
  auto& remarks = judgement.remarks;
  remarks.insert(remarks.begin(), input.coil.remarks.begin(), input.coil.remarks.end());
  const auto model = model_remarks(&stream, input.coil.profile);
  remarks.insert(remarks.end(), model.begin(), model.end());
  if (const auto& capture = input.source.capture) {
    const auto odd = oddities_of(*capture);
    remarks.insert(remarks.end(), odd.begin(), odd.end());
  }
  return judgement;
}

}  // namespace

Judgement judge_input(const JudgedInput& input, std::optional<double> tolerance_us) {
  return judged(input, judge_options(input.source.capture, tolerance_us));
}

Judgement judge_as_command(const JudgedInput& input) {
  return judged(input, {});
}

}  // namespace burstloom::command
