#include "stream_tables.hpp"

#include <algorithm>

#include "can_follow.hpp"

namespace burstloom::table_detail {
namespace {

// What `make` gives, made when it is first asked for.
template <class T, class Make>
const T& once(std::optional<T>& kept, Make make) {
  if (!kept) kept.emplace(make());
  return *kept;
}

}  // namespace

const Bytes& StreamTables::pairs() {
  return once(pairs_, [&] { return pair_data(input_.stream); });
}

const StreamTables::Bounds& StreamTables::bounds() {
  return once(bounds_, [&] {
    Bounds bounds{shortest_gap(input_.stream)};
    for (const Burst& burst : input_.stream.bursts) bounds.longest_on = std::max(bounds.longest_on, burst.on);
    return bounds;
  });
}

const std::vector<Wish>& StreamTables::wishes() {
  return once(wishes_, [&] { return wishes_of(input_.stream, input_.account); });
}

const std::optional<std::vector<VoiceProgram>>& StreamTables::programs() {
  return once(programs_, [&] { return voice_programs(wishes()); });
}

const std::vector<bool>& StreamTables::tells() {
  return once(tells_, [&] { return tells_after(wishes(), *programs()); });
}

// The data of a table of voices, if there is one that `target` can follow and whose player would not clamp
// it.
const Bytes* StreamTables::voices_for(const Target& target, const CompiledLimits& limits) {
  if (bounds().shortest_gap < limits.gap_min || bounds().longest_on > limits.on_max) return nullptr;
  if (!programs() || !can_follow(target, limits, wishes(), static_cast<int>(programs()->size()), tells()))
    return nullptr;
  const std::optional<Bytes>& data =
      once(voices_, [&] { return voice_data(input_.stream, wishes(), *programs(), pairs().size()); });
  return data ? &*data : nullptr;
}

Measured StreamTables::measured(const Bytes& data, Encoding encoding, const Target& target,
                                const CompiledLimits& limits) const {
  const int voices = encoding == Encoding::voices ? static_cast<int>(programs_->value().size()) : 0;
  const PlayerSize player = player_size(target, limits, voices);
  const auto bytes = static_cast<std::int64_t>(kTableHeaderBytes + data.size());
  return {encoding, voices, bytes, player.flash_bytes + bytes, player.ram_bytes};
}

void StreamTables::require_playable(const Target& target, const CompiledLimits& limits) {
  if (playable_.contains(target.name)) return;
  table_detail::require_playable(input_, target, limits);
  playable_.insert(target.name);
}

const Measured& StreamTables::smallest(const Target& target, const CompiledLimits& limits) {
  const auto [found, is_new] = smallest_.try_emplace(target.name);
  if (is_new) found->second = measured_smallest(target, limits);
  return found->second;
}

Measured StreamTables::measured_smallest(const Target& target, const CompiledLimits& limits) {
  const Measured of_pairs = measured(pairs(), Encoding::pairs, target, limits);
  const Bytes* data = voices_for(target, limits);
  if (!data) return of_pairs;
  const Measured of_voices = measured(*data, Encoding::voices, target, limits);
  return of_voices.flash_bytes < of_pairs.flash_bytes && of_voices.ram_bytes <= target.ram_bytes ? of_voices
                                                                                                 : of_pairs;
}

bool StreamTables::fit(const Target& target, const CompiledLimits& limits) {
  return measured(pairs(), Encoding::pairs, target, limits).flash_bytes <= target.flash_bytes ||
         smallest(target, limits).flash_bytes <= target.flash_bytes;
}

Table StreamTables::smallest_table(const Target& target, const CompiledLimits& limits) {
  const Measured& it = smallest(target, limits);
  const Bytes& data = it.encoding == Encoding::voices ? voices_->value() : pairs();
  return {finished_table(it.encoding, data, input_.stream, limits), it.encoding, it.voices};
}

std::vector<Table> StreamTables::tables(const Target& target, const CompiledLimits& limits) {
  std::vector<Table> tables = {{finished_table(Encoding::pairs, pairs(), input_.stream, limits)}};
  if (const Bytes* data = voices_for(target, limits))
    tables.push_back({finished_table(Encoding::voices, *data, input_.stream, limits), Encoding::voices,
                      static_cast<int>(programs_->value().size())});
  return tables;
}

}  // namespace burstloom::table_detail
