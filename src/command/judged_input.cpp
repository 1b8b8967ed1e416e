#include <algorithm>

#include "burstloom/common/error.hpp"
#include "command_line.hpp"

namespace burstloom::command {

Profile choose_profile(const std::string& coil, const std::string& carried, const std::string& path,
                       std::vector<std::string>& remarks) {
  if (!coil.empty()) {
    Profile profile = read_profile(coil);
    if (!carried.empty() && carried != profile.text)
      remarks.push_back("woven for another profile than " + printable(coil) + "; judged by the latter");
    return profile;
  }
  if (!carried.empty()) return parse_profile(carried, printable(path) + " (the profile in it)");
  throw Error(Fault::usage, "this file carries no coil profile", printable(path, 200),
              "name the coil it is for with --coil COIL.toml");
}

JudgedInput read_judged_input(const std::string& path, const std::string& coil,
                              const CaptureOptions& options) {
  JudgedInput input{read_stream(path, options), {}, {}};
  input.profile = choose_profile(coil, input.source.file.profile, path, input.remarks);
  return input;
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

Judgement judge_input(const JudgedInput& input, std::optional<double> tolerance_us) {
  const auto& capture = input.source.capture;
  Judgement judgement = judge(input.source.file.stream, input.profile, judge_options(capture, tolerance_us));
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
