// Items as few bytes: how a long line waits while what it was made from, or is made into, needs the room.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "line.hpp"

namespace burstloom::guard_detail {

/// Items one after the other, each told by how it differs from the one before: some 6 bytes instead of 40.
class PackedItems {
 public:
  /// For about so many, with what a line rarely needs beside: room that is not written to costs no memory.
  explicit PackedItems(std::size_t items) { bytes_.reserve(kUsual * items); }

  void add(const Item& item);
  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] std::size_t bytes() const { return bytes_.size(); }

  /// Calls `take(item)` for each, in the order in which they came.
  template <class Take>
  void for_each(Take take) const {
    Reader reader{bytes_.data(), {}};
    for (std::size_t left = size_; left > 0; --left) take(reader.next());
  }

 private:
  static constexpr std::size_t kUsual = 12;

  // What bursts of one note share as a rule.
  struct Shared {
    ShortTicks cap;
    Weight weight;
    std::uint16_t voice = 0;
    [[nodiscard]] static Shared of(const Item& item) { return {item.cap, item.weight, item.voice}; }
    [[nodiscard]] bool is(const Shared& other) const {
      return cap == other.cap && weight == other.weight && voice == other.voice;
    }
  };
  // The item before, and what the last burst of each note shares with the next.
  struct Before {
    Item item;
    std::array<Shared, 64> by_note{};
    [[nodiscard]] Shared& of_note(std::uint32_t note) { return by_note[note % by_note.size()]; }
  };
  struct Reader {
    const std::uint8_t* next_byte;
    Before before;
    Item next();
  };

  std::vector<std::uint8_t> bytes_;
  Before before_;
  std::size_t size_ = 0;
};

/// As `place`, with what was wanted, the line and what becomes of it held one after the other, packed in
/// between.
[[nodiscard]] Guarded place_packed(std::vector<WantedBurst>&& wanted, const Profile& profile,
                                   std::int64_t tick_hz, Tick length, Placing placing = Placing::ahead);

}  // namespace burstloom::guard_detail
