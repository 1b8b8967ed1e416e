#include "burstloom/common/error.hpp"

#include <utility>

namespace burstloom {
namespace {

std::string sentence(const std::string& what, const std::string& where, const std::string& what_to_do) {
  return (where.empty() ? "" : where + ": ") + what + "; " + what_to_do +
         (what_to_do.ends_with('?') ? "" : ".");
}

bool is_continuation(char c) {
  return (static_cast<unsigned char>(c) & 0xC0) == 0x80;
}

// What may follow a lead byte that would otherwise allow over-long forms, surrogates, or more than U+10FFFF
// (RFC 3629, section 4).
bool is_allowed_second(unsigned char lead, unsigned char second) {
  switch (lead) {
    case 0xE0:
      return second >= 0xA0;
    case 0xED:
      return second <= 0x9F;
    case 0xF0:
      return second >= 0x90;
    case 0xF4:
      return second <= 0x8F;
    default:
      return true;
  }
}

// Length of the UTF-8 sequence that starts at text[at], 0 when it is broken.
std::size_t utf8_length(const std::string& text, std::size_t at) {
  const auto lead = static_cast<unsigned char>(text[at]);
  const std::size_t length = lead < 0x80                   ? 1
                             : lead >= 0xC2 && lead < 0xE0 ? 2
                             : lead >= 0xE0 && lead < 0xF0 ? 3
                             : lead >= 0xF0 && lead < 0xF5 ? 4
                                                           : 0;
  if (length == 0 || length > text.size() - at) return 0;
  for (std::size_t i = 1; i < length; ++i)
    if (!is_continuation(text[at + i])) return 0;
  return length > 1 && !is_allowed_second(lead, static_cast<unsigned char>(text[at + 1])) ? 0 : length;
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
  std::string clean;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = utf8_length(text, at);
    const bool good = length > 0 && !is_control(text, at, length);
    if (good)
      clean.append(text, at, length);
    else
      clean.push_back('?');
    at += length > 0 ? length : 1;
  }
  if (clean.size() <= longest) return clean;
  const std::size_t half = longest < 4 ? 0 : longest / 2 - 1;
  std::size_t head = half, tail = clean.size() - half;
  while (head > 0 && is_continuation(clean[head])) --head;
  while (tail < clean.size() && is_continuation(clean[tail])) ++tail;
  return (clean.substr(0, head) + ".." + clean.substr(tail)).substr(0, longest);
}

}  // namespace burstloom
