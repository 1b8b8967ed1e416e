#include "burstloom/common/error.hpp"

#include <utility>
#include <vector>

namespace burstloom {
namespace {

std::string sentence(const std::string& what, const std::string& where, const std::string& what_to_do) {
  return (where.empty() ? "" : where + ": ") + what + "; " + what_to_do + ".";
}

// Length of the UTF-8 sequence that starts at text[at], 0 when it is broken (RFC 3629: no overlong forms
// above the two-byte range are told apart here; the terminal only needs well-formed lead and continuation
// bytes).
std::size_t utf8_length(const std::string& text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(at);
  const std::size_t length = lead < 0x80                   ? 1
                             : lead >= 0xC2 && lead < 0xE0 ? 2
                             : lead >= 0xE0 && lead < 0xF0 ? 3
                             : lead >= 0xF0 && lead < 0xF5 ? 4
                                                           : 0;
  if (length == 0 || at + length > text.size()) return 0;
  for (std::size_t i = 1; i < length; ++i)
    if ((byte(at + i) & 0xC0) != 0x80) return 0;
  return length;
}

bool is_control(const std::string& text, std::size_t at, std::size_t length) {
  const auto lead = static_cast<unsigned char>(text[at]);
  if (length == 1) return lead < 0x20 || lead == 0x7F;
  return length == 2 && lead == 0xC2 && static_cast<unsigned char>(text[at + 1]) < 0xA0;  // C1 controls
}

}  // namespace

Error::Error(Fault fault, std::string what, std::string where, std::string what_to_do)
    : std::runtime_error(sentence(what, where, what_to_do)),
      fault_(fault),
      problem_(std::move(what)),
      where_(std::move(where)),
      what_to_do_(std::move(what_to_do)) {}

Error bad_input(std::string what, std::string where, std::string what_to_do) {
  return {Fault::bad_input, std::move(what), std::move(where), std::move(what_to_do)};
}

std::string printable(const std::string& text, std::size_t longest) {
  std::vector<std::string> letters;
  std::size_t bytes = 0;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = utf8_length(text, at);
    const bool good = length > 0 && !is_control(text, at, length);
    letters.push_back(good ? text.substr(at, length) : "?");
    bytes += letters.back().size();
    at += length > 0 ? length : 1;
  }
  std::string head, tail;
  if (bytes <= longest) {
    for (const auto& letter : letters) head += letter;
    return head;
  }
  const std::size_t half = longest / 2 - 1;
  for (auto it = letters.begin(); it != letters.end() && head.size() + it->size() <= half; ++it) head += *it;
  for (auto it = letters.rbegin(); it != letters.rend() && tail.size() + it->size() <= half; ++it)
    tail = *it + tail;
  return head + ".." + tail;
}

}  // namespace burstloom
