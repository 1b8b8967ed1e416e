#include <algorithm>

#include "burstloom/common/error.hpp"
#include "command_line.hpp"

namespace burstloom::command {

JudgedInput read_judged_input(const std::string& path, const std::string& coil,
                              const CaptureOptions& options) {
  JudgedInput input{read_stream(path, options), {}, {}};
  const std::string& carried = input.source.file.profile;
  if (!coil.empty()) {
    input.profile = read_profile(coil);
    if (!carried.empty() && carried != input.profile.text)
      input.remarks.push_back("woven for another profile than " + printable(coil) + "; judged by the latter");
  } else if (!carried.empty()) {
    input.profile = parse_profile(carried, printable(path) + " (the profile in it)");
  } else {
    throw Error(Fault::usage, "this file carries no coil profile", printable(path, 200),
                "name the coil it is for with --coil COIL.toml");
  }
  return input;
}

namespace {

std::vector<std::string> oddities_of(const Capture& capture) {
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

}  // namespace

bool is_measured(const JudgedInput& input) {
  return input.source.capture && !input.source.capture->exact;
}

Judgement judge_input(const JudgedInput& input, std::optional<double> tolerance_us) {
  const auto& capture = input.source.capture;
  JudgeOptions options;
  if (is_measured(input)) {
    options.measured = true;
    options.tolerance_us = std::min(5.0, capture->sample_us);
    options.first_is_cut = capture->starts_high;
    options.last_is_cut = capture->ends_high;
  }
  if (tolerance_us) options.tolerance_us = *tolerance_us;
  Judgement judgement = judge(input.source.file.stream, input.profile, options);
  auto& remarks = judgement.remarks;
  remarks.insert(remarks.begin(), input.remarks.begin(), input.remarks.end());
  const auto supply = supply_remarks(input.source.file.stream, input.profile);
  remarks.insert(remarks.end(), supply.begin(), supply.end());
  if (capture) {
    const auto odd = oddities_of(*capture);
    remarks.insert(remarks.end(), odd.begin(), odd.end());
  }
  return judgement;
}

}  // namespace burstloom::command
