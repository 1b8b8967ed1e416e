// A verdict as JSON, as one line and as a table.
#include <algorithm>

#include "burstloom/check/verdict_words.hpp"
#include "command_line.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

Tint tint_of(const LimitResult& limit) {
  return limit.held ? Tint::none : limit.unsure ? Tint::unsure : Tint::exceeded;
}

Tint tint_of(Verdict verdict) {
  return verdict == Verdict::within_limits    ? Tint::held
         : verdict == Verdict::outside_limits ? Tint::exceeded
                                              : Tint::unsure;
}

std::string state_of(const LimitResult& limit) {
  return limit.held ? "" : std::string(mark_of(limit)) + " " + state_words(limit);
}

std::string limits_table(const std::vector<LimitResult>& limits) {
  std::vector<std::vector<std::string>> rows = {{"limit", "worst", "allowed", "margin", "at", ""}};
  std::vector<Tint> tints = {Tint::none};
  for (const LimitResult& limit : limits) {
    rows.push_back({limit.limit, with_unit(limit.worst, limit.unit), with_unit(limit.allowed, limit.unit),
                    in_tenths(limit.margin_percent) + " %", clock_time(limit.at_s), state_of(limit)});
    tints.push_back(tint_of(limit));
  }
  return tinted_lines(table(rows), tints);
}

std::string say(const ViolationSpan& span) {
  const bool is_moment = span.from_s == span.until_s;
  return "  exceeded " + (is_moment ? "at " : "from " + clock_time(span.from_s) + " to ") +
         clock_time(span.until_s) + ": " + span.limit + " " + with_unit(span.worst, span.unit) +
         (span.count > 1 ? " at worst, " + grouped(span.count) + " times" : "") + ", allowed " +
         with_unit(span.allowed, span.unit) + "\n";
}

std::string say(const std::vector<ViolationSpan>& spans) {
  constexpr std::size_t kShown = 5;
  std::string text;
  for (std::size_t i = 0; i < std::min(kShown, spans.size()); ++i) text += say(spans[i]);
  if (spans.size() > kShown)
    text += "  and " + grouped(static_cast<std::int64_t>(spans.size() - kShown)) +
            " more; --json and the report have them all\n";
  return text;
}

std::string say_rest(double rest_s) {
  return rest_s > 0 ? "  before it may start again: a rest of at least " + with_unit(rest_s, "s") + "\n"
                    : "  may play in a loop, as far as the judged limits go\n";
}

}  // namespace

Json to_json(const Judgement& judgement, const Extent& extent) {
  Json json;
  json["verdict"] = name_of(judgement.verdict);
  json["not_judged"] = Json::array();
  json["not_judged_why"] = Json::object();
  for (const NotJudged& missing : judgement.not_judged) {
    json["not_judged"].push_back(missing.limit);
    json["not_judged_why"][missing.limit] = missing.why;
  }
  json["stream"] = {{"bursts", extent.bursts}, {"tick_hz", extent.tick_hz}, {"length_s", extent.length_s()}};
  json["limits"] = Json::array();
  for (const LimitResult& limit : judgement.limits)
    json["limits"].push_back({{"limit", limit.limit},
                              {"worst", limit.worst},
                              {"allowed", limit.allowed},
                              {"unit", limit.unit},
                              {"at_s", limit.at_s},
                              {"held", limit.held},
                              {"unsure", limit.unsure},
                              {"in_stream", limit.in_stream},
                              {"margin_percent", limit.margin_percent}});
  json["violations"] = Json::array();
  for (const Violation& violation : judgement.violations)
    json["violations"].push_back({{"limit", violation.limit},
                                  {"at_s", violation.at_s},
                                  {"value", violation.value},
                                  {"allowed", violation.allowed},
                                  {"unit", violation.unit}});
  json["violations_in_all"] = judgement.violations_in_all;
  json["spans"] = Json::array();
  for (const ViolationSpan& span : judgement.spans)
    json["spans"].push_back({{"limit", span.limit},
                             {"from_s", span.from_s},
                             {"until_s", span.until_s},
                             {"worst", span.worst},
                             {"allowed", span.allowed},
                             {"unit", span.unit},
                             {"count", span.count}});
  json["tolerance_us"] = judgement.tolerance_us;
  json["rest_before_repeat_s"] =
      judgement.rest_before_repeat_s ? Json(*judgement.rest_before_repeat_s) : Json();
  json["may_loop"] = judgement.rest_before_repeat_s == 0.0;
  json["remarks"] = judgement.remarks;
  return json;
}

std::string one_line(const Judgement& judgement) {
  std::string words = verdict_words(judgement);
  if (judgement.verdict == Verdict::outside_limits)
    std::transform(words.begin(), words.begin() + 14, words.begin(), ::toupper);
  return tinted(mark_of(judgement.verdict) + (" " + words), tint_of(judgement.verdict));
}

std::string describe(const Judgement& judgement) {
  std::string text = limits_table(judgement.limits) + say(judgement.spans);
  for (const NotJudged& missing : judgement.not_judged)
    text += "  not judged: " + missing.limit + " (" + missing.why + ")\n";
  for (const std::string& it : judgement.remarks) text += "  " + it + "\n";
  if (judgement.rest_before_repeat_s) text += say_rest(*judgement.rest_before_repeat_s);
  return text;
}

}  // namespace burstloom::command
