#include "burstloom/preview/sentence.hpp"

#include <cctype>

#include "burstloom/check/verdict_words.hpp"

namespace burstloom {

std::string verdict_sentence(const Judgement& judgement) {
  std::string sentence = verdict_words(judgement) + ".";
  sentence[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(sentence[0])));
  return sentence;
}

std::string not_judged_sentence(const Judgement& judgement) {
  std::string names;
  for (const NotJudged& each : judgement.not_judged) names += (names.empty() ? "" : ", ") + each.limit;
  return names.empty() ? names : "Not judged: " + names + ".";
}

std::string sentence_of(const Judgement& judgement) {
  const std::string rest = not_judged_sentence(judgement);
  return verdict_sentence(judgement) + (rest.empty() ? "" : " " + rest);
}

}  // namespace burstloom
