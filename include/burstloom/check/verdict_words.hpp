// A verdict in plain words: what the terminal, the pages and the pictures say alike.
#pragma once

#include <string>

#include "burstloom/check/judge.hpp"

namespace burstloom {

/// The limit with the smallest margin; nullptr where nothing was judged.
[[nodiscard]] const LimitResult* tightest(const Judgement& judgement);
/// "gap, 12 % above its 100 µs minimum"; "break rate, exactly at its 2500 Hz limit".
[[nodiscard]] std::string distance_words(const LimitResult& limit);
/// "held", "exceeded", "cannot tell".
[[nodiscard]] const char* state_words(const LimitResult& limit);
/// "✓", "✗" or "?", so that no meaning hangs on colour alone.
[[nodiscard]] const char* mark_of(const LimitResult& limit);
[[nodiscard]] const char* mark_of(Verdict verdict);

/// "within limits; tightest: gap, 12 % above its 100 µs minimum (at 0:12.034)"
/// "outside limits: 2 limits exceeded, worst: gap, 20 % below its 100 µs minimum (80 µs at 0:12.034)"
[[nodiscard]] std::string verdict_words(const Judgement& judgement);

}  // namespace burstloom
