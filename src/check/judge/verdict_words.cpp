#include "burstloom/check/verdict_words.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/common/words.hpp"

namespace burstloom {
namespace {

bool ends_with(const std::string& text, const std::string& ending) {
  return text.size() > ending.size() && text.compare(text.size() - ending.size(), ending.size(), ending) == 0;
}

bool is_minimum(const LimitResult& limit) {
  return limit.limit == "gap" || ends_with(limit.limit, " min");
}

// "on-time" of "on-time max": the sentence says of which kind its limit is.
std::string quantity(const LimitResult& limit) {
  const bool names_its_kind = ends_with(limit.limit, " min") || ends_with(limit.limit, " max");
  return names_its_kind ? limit.limit.substr(0, limit.limit.size() - 4) : limit.limit;
}

std::string kind(const LimitResult& limit) {
  return is_minimum(limit) ? "minimum" : ends_with(limit.limit, " max") ? "maximum" : "limit";
}

// Percent of the limit; a percentage of degrees means nothing.
std::string distance(const LimitResult& limit) {
  const double off = std::abs(limit.worst - limit.allowed);
  if (limit.unit == "C" || !(limit.allowed > 0)) return with_unit(off, limit.unit);
  const double percent = 100 * off / limit.allowed;
  if (percent < 0.05) return "less than 0.1 %";
  return (percent < 10 ? figure(std::round(10 * percent) / 10) : fixed(percent, 0)) + " %";
}

bool is_exactly_there(const LimitResult& limit) {
  return std::abs(limit.worst - limit.allowed) <= 1e-9 * std::abs(limit.allowed);
}

std::string when(const LimitResult& limit) {
  return "at " + clock_time(limit.at_s);
}

std::string edges_words(const Judgement& judgement) {
  return judgement.tolerance_us > 0 ? " (edges known to " + with_unit(judgement.tolerance_us, "us") + ")"
                                    : "";
}

std::string tightest_words(const Judgement& judgement) {
  const LimitResult* limit = tightest(judgement);
  return limit == nullptr ? "" : "; tightest: " + distance_words(*limit) + " (" + when(*limit) + ")";
}

std::string outside_words(const Judgement& judgement) {
  Judgement exceeded;
  for (const LimitResult& it : judgement.limits)
    if (!it.held && !it.unsure) exceeded.limits.push_back(it);
  const LimitResult* worst = tightest(exceeded);
  if (worst == nullptr) return "";
  const std::size_t count = exceeded.limits.size();
  return ": " + std::to_string(count) + (count == 1 ? " limit exceeded: " : " limits exceeded, worst: ") +
         distance_words(*worst) + " (" + with_unit(worst->worst, worst->unit) + " " + when(*worst) + ")";
}

std::string unsure_words(const Judgement& judgement) {
  std::string names;
  for (const LimitResult& it : judgement.limits)
    if (it.unsure) names += (names.empty() ? "" : ", ") + it.limit;
  return names.empty() ? "" : " whether it holds " + names;
}

}  // namespace

const LimitResult* tightest(const Judgement& judgement) {
  const auto smallest = std::min_element(
      judgement.limits.begin(), judgement.limits.end(),
      [](const LimitResult& a, const LimitResult& b) { return a.margin_percent < b.margin_percent; });
  return smallest == judgement.limits.end() ? nullptr : &*smallest;
}

std::string distance_words(const LimitResult& limit) {
  const std::string its = "its " + with_unit(limit.allowed, limit.unit) + " " + kind(limit);
  if (is_exactly_there(limit)) return quantity(limit) + ", exactly at " + its;
  return quantity(limit) + ", " + distance(limit) + (limit.worst > limit.allowed ? " above " : " below ") +
         its;
}

const char* state_words(const LimitResult& limit) {
  return limit.held ? "held" : limit.unsure ? "cannot tell" : "exceeded";
}

const char* mark_of(const LimitResult& limit) {
  return limit.held ? "✓" : limit.unsure ? "?" : "✗";
}

const char* mark_of(Verdict verdict) {
  return verdict == Verdict::within_limits ? "✓" : verdict == Verdict::outside_limits ? "✗" : "?";
}

std::string verdict_words(const Judgement& judgement) {
  const std::string name = name_of(judgement.verdict), edges = edges_words(judgement);
  if (judgement.verdict == Verdict::outside_limits) return name + edges + outside_words(judgement);
  const bool unsure = judgement.verdict == Verdict::cannot_tell;
  return name + (unsure ? unsure_words(judgement) : "") + edges + tightest_words(judgement);
}

}  // namespace burstloom
