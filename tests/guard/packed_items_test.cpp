// Lines that wait packed, and placing that gives up what it was given.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <tuple>

#include "../../src/guard/packed_items.hpp"
#include "support/random_profiles.hpp"

namespace burstloom::guard_detail {
namespace {

auto all_of(const Item& it) {
  return std::tuple(it.start, Tick{it.on}, Tick{it.cap}, Tick{it.moved}, Tick{it.wanted_on},
                    std::uint32_t{it.weight}, it.voice, it.wanted, it.note, it.causes);
}

// Any values at all, among them runs of bursts that a note's neighbours tell nearly all of.
RC_GTEST_PROP(PackedItems, GiveBackWhatWasPutIn, ()) {
  std::vector<Item> items;
  for (int i = *rc::gen::inRange(0, 60); i > 0; --i) {
    const bool like_the_one_before = !items.empty() && *rc::gen::arbitrary<bool>();
    Item item = like_the_one_before ? items.back() : Item{};
    item.start = *rc::gen::inRange<Tick>(-kEndOfTime, kEndOfTime);
    item.on = item.wanted_on = *rc::gen::arbitrary<std::int32_t>();
    item.wanted = *rc::gen::arbitrary<std::uint32_t>();
    if (!like_the_one_before) {
      item.cap = *rc::gen::arbitrary<std::int32_t>();
      item.weight = *rc::gen::inRange<std::uint32_t>(1, kHeaviest + 1);
      item.voice = *rc::gen::arbitrary<std::uint16_t>();
      item.note = *rc::gen::arbitrary<std::uint32_t>();
    }
    if (*rc::gen::arbitrary<bool>()) {
      item.causes = *rc::gen::arbitrary<Causes>();
      item.moved = *rc::gen::arbitrary<std::int32_t>();
      item.wanted_on = *rc::gen::arbitrary<std::int32_t>();
    }
    items.push_back(item);
  }
  PackedItems packed(items.size());
  for (const Item& item : items) packed.add(item);
  RC_ASSERT(packed.size() == items.size());
  std::vector<Item> back;
  packed.for_each([&](const Item& item) { back.push_back(item); });
  RC_ASSERT(back.size() == items.size());
  for (std::size_t i = 0; i < items.size(); ++i) RC_ASSERT(all_of(back[i]) == all_of(items[i]));
}

TEST(PackedItems, AreAFewBytesEachInMusic) {
  const std::size_t kMany = 10'000;
  PackedItems packed(kMany);
  for (std::uint32_t i = 0; i < kMany; ++i)
    packed.add({.start = 2'000 * Tick{i},
                .on = 40,
                .cap = 400,
                .wanted_on = 40,
                .weight = 900,
                .wanted = i,
                .note = i % 3});
  EXPECT_LE(packed.bytes(), 6 * kMany);
}

// Given up or not, wanted bursts come to the same: stream, ledger, and what is known of each burst.
RC_GTEST_PROP(PackedItems, PlacingThatGivesUpItsInputPlacesTheSame, ()) {
  const Profile profile = testing::random_profile();
  const std::vector<WantedBurst> wanted =
      testing::random_wishes(kDefaultTickHz, *rc::gen::inRange<std::size_t>(0, 400));
  const Guarded kept = place(wanted, profile, kDefaultTickHz, 1'000'000);
  std::vector<WantedBurst> given = wanted;
  const Guarded lean = place_packed(std::move(given), profile, kDefaultTickHz, 1'000'000);
  RC_ASSERT(lean.stream == kept.stream);
  RC_ASSERT(lean.ledger.count == kept.ledger.count);
  RC_ASSERT(lean.wanted_of == kept.wanted_of);
  RC_ASSERT(lean.note_of == kept.note_of);
  RC_ASSERT(lean.voice_of == kept.voice_of);
  const auto entry = [](const LedgerEntry& it) {
    return std::tuple(it.wanted, it.note, it.voice, it.wanted_start, it.wanted_on, it.start, it.on, it.fate,
                      it.causes);
  };
  RC_ASSERT(lean.ledger.entries.size() == kept.ledger.entries.size());
  for (std::size_t i = 0; i < kept.ledger.entries.size(); ++i)
    RC_ASSERT(entry(lean.ledger.entries[i]) == entry(kept.ledger.entries[i]));
  // Each outcome is the wanted burst again.
  std::size_t i = 0;
  for_each_outcome(lean, [&](const Outcome& it) {
    const WantedBurst& was = wanted[i++];
    RC_ASSERT(it.wanted_start == was.start);
    RC_ASSERT(it.wanted_on == Tick{ShortTicks(was.on)});
    RC_ASSERT(it.note == was.note);
    RC_ASSERT(it.voice == was.voice);
  });
  RC_ASSERT(i == wanted.size());
}

}  // namespace
}  // namespace burstloom::guard_detail
