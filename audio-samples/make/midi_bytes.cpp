#include "midi_bytes.hpp"

#include <algorithm>

#include "burstloom/common/files.hpp"

namespace samples {
namespace {

using List = std::vector<std::uint8_t>;

void append(List& list, const List& more) {
  list.insert(list.end(), more.begin(), more.end());
}

List big_endian(std::uint32_t value, int bytes) {
  List list;
  for (int i = bytes - 1; i >= 0; --i) list.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
  return list;
}

List variable_length(std::uint32_t value) {
  List list = {static_cast<std::uint8_t>(value & 0x7F)};
  while ((value >>= 7) != 0) list.insert(list.begin(), static_cast<std::uint8_t>(0x80 | (value & 0x7F)));
  return list;
}

List chunk_of(const char* kind, const List& content) {
  List list(kind, kind + 4);
  append(list, big_endian(static_cast<std::uint32_t>(content.size()), 4));
  append(list, content);
  return list;
}

}  // namespace

MidiTrackBytes::MidiTrackBytes(const std::string& name) {
  meta(0, 0x03, List(name.begin(), name.end()));
}

void MidiTrackBytes::meta(std::uint32_t tick, std::uint8_t type, const List& data) {
  List bytes = {0xFF, type};
  append(bytes, variable_length(static_cast<std::uint32_t>(data.size())));
  append(bytes, data);
  events_.push_back({tick, 0, bytes});
}

void MidiTrackBytes::note(std::uint32_t start, std::uint32_t end, std::uint8_t channel, std::uint8_t key,
                          std::uint8_t velocity) {
  events_.push_back({start, 2, {static_cast<std::uint8_t>(0x90 | channel), key, velocity}});
  events_.push_back({end, 1, {static_cast<std::uint8_t>(0x80 | channel), key, 64}});
}

void MidiTrackBytes::control(std::uint32_t tick, std::uint8_t channel, std::uint8_t controller,
                             std::uint8_t value) {
  events_.push_back({tick, 0, {static_cast<std::uint8_t>(0xB0 | channel), controller, value}});
}

List MidiTrackBytes::chunk() const {
  auto events = events_;
  std::stable_sort(events.begin(), events.end(), [](const Event& one, const Event& other) {
    return one.tick != other.tick ? one.tick < other.tick : one.order < other.order;
  });
  List content;
  std::uint32_t tick = 0;
  for (const Event& event : events) {
    append(content, variable_length(event.tick - tick));
    append(content, event.bytes);
    tick = event.tick;
  }
  append(content, {0, 0xFF, 0x2F, 0});
  return chunk_of("MTrk", content);
}

void write_midi(const std::string& path, std::uint16_t ticks_a_beat,
                const std::vector<MidiTrackBytes>& tracks) {
  List header = {0, 1};
  append(header, big_endian(static_cast<std::uint32_t>(tracks.size()), 2));
  append(header, big_endian(ticks_a_beat, 2));
  List file = chunk_of("MThd", header);
  for (const MidiTrackBytes& track : tracks) append(file, track.chunk());
  burstloom::write_file(path, file);
}

}  // namespace samples
