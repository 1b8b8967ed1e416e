#include "bench.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <random>
#include <sstream>
#include <stdexcept>

namespace avr_check {

using burstloom::Burst;
using burstloom::BurstStream;
using burstloom::Tick;

const burstloom::Target& atmega() {
  return burstloom::target_named("atmega328p");
}

burstloom::Profile profile_around(const BurstStream& stream) {
  Tick longest = 1, nearest = Tick{1} << 30, shortest = stream.bursts.front().on;
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    longest = std::max(longest, stream.bursts[i].on);
    shortest = std::min(shortest, stream.bursts[i].on);
    if (i > 0) nearest = std::min(nearest, stream.bursts[i].start - stream.bursts[i - 1].end());
  }
  burstloom::Profile profile;
  profile.name = "bench";
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_min_us = stream.microseconds(shortest);
  profile.limits.on_time_max_us = stream.microseconds(longest);
  profile.limits.gap_us = stream.microseconds(nearest);
  profile.limits.duty = {{1000, 100}};
  return profile;
}

burstloom::TableInput input_of(BurstStream stream) {
  burstloom::TableInput input;
  input.title = "made for a test";
  input.profile = profile_around(stream);
  input.stream = std::move(stream);
  return input;
}

std::string fresh_folder(const std::string& name) {
  const std::filesystem::path folder = std::filesystem::path(BURSTLOOM_AVR_WORK) / name;
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  return folder.string();
}

std::string shell(const std::string& command) {
  std::FILE* pipe = ::popen((command + " 2>&1").c_str(), "r");
  if (pipe == nullptr) throw std::runtime_error("no shell");
  std::string output;
  std::array<char, 4096> part{};
  for (std::size_t n; (n = std::fread(part.data(), 1, part.size(), pipe)) > 0;) output.append(part.data(), n);
  if (::pclose(pipe) != 0) throw std::runtime_error(command + " failed:\n" + output);
  return output;
}

std::string build(const std::string& name, const std::vector<burstloom::FolderFile>& files,
                  const std::string& make_words) {
  const std::string folder = fresh_folder(name);
  burstloom::write_folder(folder, files);
  shell("make -s -C '" + folder + "' " + make_words);
  return folder + "/player.elf";
}

std::string build(const std::string& name, const BurstStream& stream, const std::string& make_words) {
  return build(name, burstloom::project(input_of(stream), atmega()), make_words);
}

Options for_stream(const BurstStream& stream) {
  Options options;
  options.seconds = 1.5 + stream.seconds(stream.length);
  options.until_song_ends = true;
  return options;
}

std::vector<Edge> at_their_ticks(std::vector<Edge> edges) {
  const auto late = [](const Edge& edge, std::int64_t phase) {
    return (edge.cycle - phase + kCyclesPerTick) % kCyclesPerTick;
  };
  for (std::int64_t phase = kCyclesPerTick - 1; phase >= 0; --phase) {
    if (!std::all_of(edges.begin(), edges.end(),
                     [&](const Edge& edge) { return late(edge, phase) <= kSimavrLateness; }))
      continue;
    for (Edge& edge : edges) edge.cycle -= late(edge, phase);
    return edges;
  }
  throw std::runtime_error("the gate's edges do not lie on the timer's ticks");
}

std::vector<Pulse> pulses(const std::vector<Edge>& edges) {
  std::vector<Pulse> found;
  for (std::size_t i = 0; i < edges.size(); i += 2) {
    if (!edges[i].high || i + 1 == edges.size()) throw std::runtime_error("the gate does not end low");
    found.push_back({edges[i].cycle, edges[i + 1].cycle});
  }
  return found;
}

std::vector<Edge> read_edges(const std::string& path) {
  const auto bytes = burstloom::read_file(path);
  std::istringstream lines(std::string(bytes.begin(), bytes.end()));
  std::vector<Edge> edges;
  std::string line;
  std::getline(lines, line);
  while (std::getline(lines, line)) {
    if (line.find("blocked") != std::string::npos) continue;
    edges.push_back({std::stoll(line), line.ends_with(",1")});
  }
  return edges;
}

std::vector<std::size_t> absent_bursts(const std::vector<Pulse>& pulses, const BurstStream& stream,
                                       std::int64_t tolerance, std::size_t first,
                                       std::int64_t cycles_per_tick) {
  std::vector<std::size_t> absent;
  std::size_t next = 0;
  const std::int64_t zero =
      pulses.empty() ? 0 : pulses.front().rise - stream.bursts.at(first).start * cycles_per_tick;
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    const std::int64_t rise = zero + stream.bursts[i].start * cycles_per_tick;
    const std::int64_t fall = rise + stream.bursts[i].on * cycles_per_tick;
    if (next < pulses.size() && std::abs(pulses[next].rise - rise) <= tolerance &&
        std::abs(pulses[next].fall - fall) <= tolerance) {
      ++next;
    } else {
      absent.push_back(i);
    }
  }
  if (next != pulses.size())
    throw std::runtime_error("the pulse at cycle " + std::to_string(pulses[next].rise) + " of " +
                             std::to_string(pulses[next].fall - pulses[next].rise) +
                             " cycles is no burst of the stream at its place");
  return absent;
}

BurstStream four_bursts() {
  return {burstloom::kDefaultTickHz, 10'000, {{0, 20}, {500, 30}, {1'001, 40}, {4'000, 99}}};
}

BurstStream song_like(std::size_t bursts, unsigned seed) {
  std::mt19937 dice(seed);
  BurstStream stream;
  Tick at = 0;
  for (std::size_t i = 0; i < bursts; ++i) {
    const Tick on = 20 + dice() % 3 * 37,
               gap = dice() % 50 == 0 ? 100'000 + dice() % 100'000 : 200 + dice() % 6'000;
    at += gap;
    stream.bursts.push_back({at, on});
    at += on;
  }
  stream.length = at;
  return stream;
}

BurstStream long_rests() {
  // Around the counter's turn (65 536 ticks), the longest sleep (16 000) and the lead (40), and whole
  // seconds.
  BurstStream stream;
  Tick at = 0;
  for (const Tick gap :
       std::initializer_list<Tick>{atmega().shortest_gap_ticks, 15'900, 16'000, 16'001, 16'040, 16'041,
                                   32'767, 32'768, 65'450, 65'486, 65'487, 65'535, 65'536, 65'537, 131'072,
                                   2'000'000, 6'000'001, atmega().shortest_gap_ticks}) {
    at += gap;
    stream.bursts.push_back({at, 50});
    at += 50;
  }
  stream.length = at;
  return stream;
}

burstloom::TableInput two_voices(int bursts) {
  BurstStream stream;
  burstloom::Account account;
  account.notes = {{.voice = 0}, {.voice = 1}};
  Tick next[] = {100, 700}, free = 0;
  for (int i = 0; i < bursts; ++i) {
    const std::uint32_t voice = next[0] <= next[1] ? 0 : 1;
    const Tick wanted = next[voice], start = std::max(wanted, free);
    next[voice] += voice == 0 ? 2'111 : 3'407;
    if (start != wanted)
      account.changes.push_back({.note = voice,
                                 .wanted_start = wanted,
                                 .wanted_on = 40,
                                 .burst = static_cast<std::uint32_t>(stream.bursts.size()),
                                 .fate = burstloom::Fate::shifted});
    stream.bursts.push_back({start, 40});
    account.note_of_burst.push_back(voice);
    free = start + 40 + 400;
  }
  stream.length = stream.bursts.back().end();
  burstloom::TableInput input = input_of(std::move(stream));
  input.account = std::move(account);
  return input;
}

BurstStream neighbours(Tick on, Tick gap, std::size_t bursts) {
  // Two on-times in turn, so that each entry names its own: the longest to decode.
  BurstStream stream;
  Tick at = 0;
  for (std::size_t i = 0; i < bursts; ++i) {
    const Tick this_on = on + static_cast<Tick>(i % 2);
    stream.bursts.push_back({at, this_on});
    at += this_on + gap;
  }
  stream.length = at;
  return stream;
}

std::vector<burstloom::ImageSong> set_of(std::vector<burstloom::TableInput> songs, double pause_s) {
  BurstStream all;
  for (const auto& song : songs) {
    const Tick zero = all.length + burstloom::kDefaultTickHz;
    for (const Burst& burst : song.stream.bursts) all.bursts.push_back({zero + burst.start, burst.on});
    all.length = zero + song.stream.length;
  }
  std::vector<burstloom::ImageSong> set;
  for (auto& song : songs) {
    song.profile = profile_around(all);
    song.title = "song " + std::to_string(set.size());
    set.push_back({std::move(song), pause_s});
  }
  return set;
}

PlayedSet played_set(const std::vector<Pulse>& all, const std::vector<burstloom::ImageSong>& songs,
                     std::int64_t clock_hz) {
  PlayedSet played;
  std::size_t at = 0;
  for (const auto& song : songs) {
    const std::size_t count = song.table.stream.bursts.size();
    if (at + count > all.size())
      throw std::runtime_error("fewer pulses than bursts: " + std::to_string(all.size()));
    if (at > 0)
      played.pauses_s.push_back(static_cast<double>(all[at].rise - all[at - 1].fall) /
                                static_cast<double>(clock_hz));
    const auto first = all.begin() + static_cast<std::ptrdiff_t>(at);
    played.songs.emplace_back(first, first + static_cast<std::ptrdiff_t>(count));
    at += count;
  }
  if (at != all.size()) throw std::runtime_error("more pulses than bursts: " + std::to_string(all.size()));
  return played;
}

}  // namespace avr_check
