// A verdict in sentences, for pages and pictures.
#pragma once

#include <string>

#include "burstloom/check/judge.hpp"

namespace burstloom {

/// `verdict_words` as a sentence.
[[nodiscard]] std::string verdict_sentence(const Judgement& judgement);
/// "Not judged: junction, supply."; empty where everything is.
[[nodiscard]] std::string not_judged_sentence(const Judgement& judgement);
/// Both.
[[nodiscard]] std::string sentence_of(const Judgement& judgement);

}  // namespace burstloom
