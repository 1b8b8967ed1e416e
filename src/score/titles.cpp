#include "titles.hpp"

#include <algorithm>
#include <array>
#include <string_view>

#include "burstloom/common/words.hpp"

namespace burstloom {

// By what is left of a title without digits and blanks: "Track 01" is "track". Digits alone may be one:
// "1812".
bool is_placeholder(const std::string& title) {
  constexpr std::array<std::string_view, 13> kWords = {
      "track", "untitled", "unnamed", "noname",     "notitle",    "newsong",  "sequence",
      "midi",  "song",     "tempo",   "tempotrack", "controller", "conductor"};
  std::string word;
  bool is_blank = true;
  for (const char c : in_small_letters(title)) {
    is_blank = is_blank && (c == ' ' || c == '?' || c == '-' || c == '.');
    if (!(c >= '0' && c <= '9') && std::string_view(" -_.#:").find(c) == std::string_view::npos) word += c;
  }
  return is_blank || std::find(kWords.begin(), kWords.end(), word) != kWords.end();
}

}  // namespace burstloom
