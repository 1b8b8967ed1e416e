#include "burstloom/common/error.hpp"

#include <algorithm>
#include <iterator>
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

char32_t code_point(const std::string& text, std::size_t at, std::size_t length) {
  const auto lead = static_cast<unsigned char>(text[at]);
  char32_t code = length == 1 ? lead : lead & (0x7Fu >> length);
  for (std::size_t i = 1; i < length; ++i)
    code = code << 6 | (static_cast<unsigned char>(text[at + i]) & 0x3F);
  return code;
}

// Controls, and what shows nothing itself but changes how the text around it looks or breaks it: general
// categories Cc, Cf, Zl and Zp, fillers, tags (Unicode 15 with UAX 9 and UAX 44, from memory).
bool is_hidden(char32_t code) {
  if (code < 0x80) return code < 0x20 || code == 0x7F;
  struct Range {
    char32_t first, last;
  };
  static constexpr Range kHidden[] = {
      {0x80, 0x9F},       {0xAD, 0xAD},       {0x34F, 0x34F},     {0x600, 0x605},     {0x61C, 0x61C},
      {0x6DD, 0x6DD},     {0x70F, 0x70F},     {0x890, 0x891},     {0x8E2, 0x8E2},     {0x115F, 0x1160},
      {0x17B4, 0x17B5},   {0x180B, 0x180F},   {0x200B, 0x200F},   {0x2028, 0x202E},   {0x2060, 0x206F},
      {0x3164, 0x3164},   {0xFEFF, 0xFEFF},   {0xFFA0, 0xFFA0},   {0xFFF0, 0xFFFB},   {0x110BD, 0x110BD},
      {0x110CD, 0x110CD}, {0x13430, 0x1343F}, {0x1BCA0, 0x1BCA3}, {0x1D173, 0x1D17A}, {0xE0000, 0xE0FFF},
  };
  return std::any_of(std::begin(kHidden), std::end(kHidden),
                     [code](const Range& range) { return code >= range.first && code <= range.last; });
}

// Length of what lays out text for a terminal and hides nothing, 0 for all else: a line's end, a tab, a
// colour (ECMA-48: ESC [ numbers m).
std::size_t layout_length(const std::string& text, std::size_t at) {
  if (text[at] == '\n' || text[at] == '\t') return 1;
  if (text.compare(at, 2, "\x1B[") != 0) return 0;
  const std::size_t end = text.find_first_not_of("0123456789;", at + 2);
  return end != std::string::npos && text[end] == 'm' ? end + 1 - at : 0;
}

// What is no good text becomes '?', but for what `kept_length` says is to be kept.
template <class KeptLength>
std::string cleaned(const std::string& text, KeptLength kept_length) {
  std::string clean;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t kept = kept_length(text, at), length = kept > 0 ? kept : utf8_length(text, at);
    if (kept > 0 || (length > 0 && !is_hidden(code_point(text, at, length))))
      clean.append(text, at, length);
    else
      clean.push_back('?');
    at += std::max<std::size_t>(1, length);
  }
  return clean;
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

std::string printable_lines(const std::string& text) {
  return cleaned(text, layout_length);
}

std::string printable(const std::string& text, std::size_t longest) {
  const std::string clean = cleaned(text, [](const std::string&, std::size_t) { return std::size_t{0}; });
  if (clean.size() <= longest) return clean;
  const std::size_t half = longest < 4 ? 0 : longest / 2 - 1;
  std::size_t head = half, tail = clean.size() - half;
  while (head > 0 && is_continuation(clean[head])) --head;
  while (tail < clean.size() && is_continuation(clean[tail])) ++tail;
  return (clean.substr(0, head) + ".." + clean.substr(tail)).substr(0, longest);
}

}  // namespace burstloom
