#include "packed_items.hpp"

namespace burstloom::guard_detail {
namespace {

// With the sign in the lowest bit, so that small steps of either sign stay short.
std::uint64_t folded(std::int64_t step) {
  return (static_cast<std::uint64_t>(step) << 1) ^ static_cast<std::uint64_t>(step >> 63);
}
std::int64_t unfolded(std::uint64_t step) {
  return static_cast<std::int64_t>(step >> 1) ^ -static_cast<std::int64_t>(step & 1);
}

std::int64_t step_of(std::uint32_t from, std::uint32_t to) {
  return std::int64_t{to} - std::int64_t{from};
}
std::uint32_t stepped(std::uint32_t from, std::int64_t step) {
  return static_cast<std::uint32_t>(from + step);
}

// Numbers of seven bits a byte, the lowest first, as in leb128.hpp; without its care for what others wrote.
std::uint8_t* written(std::uint8_t* to, std::uint64_t value) {
  for (; value >= 0x80; value >>= 7) *to++ = static_cast<std::uint8_t>(value | 0x80);
  *to++ = static_cast<std::uint8_t>(value);
  return to;
}
std::uint64_t read(const std::uint8_t*& from) {
  std::uint64_t value = *from & 0x7Fu;
  for (int shift = 7; (*from++ & 0x80u) != 0; shift += 7) value |= std::uint64_t{*from & 0x7Fu} << shift;
  return value;
}

constexpr std::uint64_t kIsChanged = 1, kIsShared = 2;
constexpr int kFlags = 2;
constexpr int kNumbers = 10;  // that an item takes at most

}  // namespace

void PackedItems::add(const Item& item) {
  std::uint8_t bytes[kNumbers * 10];
  std::uint8_t* end = bytes;
  const auto number = [&](std::uint64_t value) { end = written(end, value); };
  const auto step = [&](std::int64_t value) { number(folded(value)); };
  Shared& shared = before_.of_note(item.note);
  const bool is_shared = shared.is(Shared::of(item));
  const bool is_changed = item.causes != 0 || item.moved != 0 || item.on != item.wanted_on;
  number(folded(step_of(before_.item.note, item.note)) << kFlags | (is_shared ? kIsShared : 0) |
         (is_changed ? kIsChanged : 0));
  step(step_of(before_.item.wanted, item.wanted));
  step(item.start - before_.item.start);
  step(item.on);
  if (!is_shared) {
    shared = Shared::of(item);
    step(shared.cap);
    number(shared.weight);
    number(shared.voice);
  }
  if (is_changed) {
    number(item.causes);
    step(item.moved);
    step(item.wanted_on);
  }
  bytes_.insert(bytes_.end(), bytes, end);
  before_.item = item;
  ++size_;
}

Item PackedItems::Reader::next() {
  const auto number = [&] { return read(next_byte); };
  const auto step = [&] { return unfolded(number()); };
  const std::uint64_t head = number();
  Item item;
  item.note = stepped(before.item.note, unfolded(head >> kFlags));
  item.wanted = stepped(before.item.wanted, step());
  item.start = before.item.start + step();
  item.on = item.wanted_on = step();
  Shared& shared = before.of_note(item.note);
  if ((head & kIsShared) == 0) {
    shared.cap = step();
    shared.weight = static_cast<std::uint32_t>(number());
    shared.voice = static_cast<std::uint16_t>(number());
  }
  item.cap = shared.cap;
  item.weight = shared.weight;
  item.voice = shared.voice;
  if ((head & kIsChanged) != 0) {
    item.causes = static_cast<Causes>(number());
    item.moved = step();
    item.wanted_on = step();
  }
  return before.item = item;
}

}  // namespace burstloom::guard_detail
