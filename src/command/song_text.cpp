#include "song_text.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

namespace burstloom::command {
namespace {

// Seconds during which exactly that many notes sound, and more.
std::vector<double> polyphony_of(const Score& score) {
  std::vector<std::pair<double, int>> edges;
  for (const Note& note : score.notes) {
    if (note.part == Part::drums || !(note.end_s > note.start_s)) continue;
    edges.emplace_back(note.start_s, 1);
    edges.emplace_back(note.end_s, -1);
  }
  std::sort(edges.begin(), edges.end());
  std::vector<double> seconds;
  std::size_t sounding = 0;
  double since = 0;
  for (const auto& [at, change] : edges) {
    if (seconds.size() <= sounding) seconds.resize(sounding + 1);
    seconds[sounding] += at - since;
    since = at;
    sounding = static_cast<std::size_t>(static_cast<int>(sounding) + change);
  }
  return seconds;
}

std::string hz(double key) {
  return figure(key_hz(key)) + " Hz";
}

// The most notes that sound at once in each stretch of ten seconds.
std::vector<int> polyphony_over_time(const Score& score) {
  constexpr double kStretch_s = 10;
  std::vector<int> most(static_cast<std::size_t>(score.length_s / kStretch_s) + 1, 0);
  std::vector<std::pair<double, int>> edges;
  for (const Note& note : score.notes) {
    if (note.part == Part::drums || !(note.end_s > note.start_s)) continue;
    edges.emplace_back(note.start_s, 1);
    edges.emplace_back(note.end_s, -1);
  }
  std::sort(edges.begin(), edges.end());
  int sounding = 0;
  std::size_t stretch = 0;
  for (const auto& [at_s, change] : edges) {
    for (const auto here = static_cast<std::size_t>(at_s / kStretch_s);
         stretch < std::min(here, most.size() - 1);)
      most[++stretch] = sounding;
    sounding += change;
    most[stretch] = std::max(most[stretch], sounding);
  }
  return most;
}

std::map<int, std::int64_t> drums_of(const Score& score) {
  std::map<int, std::int64_t> drums;
  for (const Note& note : score.notes)
    if (note.part == Part::drums) ++drums[static_cast<int>(note.key)];
  return drums;
}

Json channels_json(const std::vector<ChannelSummary>& channels) {
  const Roles roles = suggested_roles(channels);
  Json all = Json::array();
  for (const ChannelSummary& channel : channels)
    all.push_back({{"channel", channel.channel},
                   {"name", channel.name},
                   {"program", channel.program < 0 ? Json() : Json(channel.program)},
                   {"family", family_of_program(channel.program)},
                   {"role", channel.drums                   ? "drums"
                            : channel.channel == roles.lead ? "lead"
                            : channel.channel == roles.bass ? "bass"
                                                            : "inner"},
                   {"notes", channel.notes},
                   {"lowest_key", channel.lowest},
                   {"highest_key", channel.highest},
                   {"softest", channel.softest},
                   {"loudest", channel.loudest},
                   {"sounding_s", channel.sounding_s},
                   {"most_at_once", channel.most_at_once}});
  return all;
}

std::string role_of(const ChannelSummary& channel, const Roles& roles) {
  return channel.drums                   ? "drums"
         : channel.channel == roles.lead ? "lead?"
         : channel.channel == roles.bass ? "bass?"
                                         : "";
}

std::string velocities_of(const ChannelSummary& channel) {
  return figure(std::round(channel.softest * 127)) + " to " + figure(std::round(channel.loudest * 127));
}

using Rows = std::vector<std::vector<std::string>>;

// What fits 80 columns.
Rows short_rows(const std::vector<ChannelSummary>& channels, const Roles& roles) {
  Rows rows = {{"ch", "name", "instrument", "notes", "range, Hz", "at once", "role"}};
  for (const ChannelSummary& channel : channels)
    if (!channel.drums)
      rows.push_back(
          {std::to_string(channel.channel), printable(channel.name, 14), family_of_program(channel.program),
           grouped(channel.notes),
           figure(std::round(key_hz(channel.lowest))) + " to " + figure(std::round(key_hz(channel.highest))),
           std::to_string(channel.most_at_once), role_of(channel, roles)});
  return rows;
}

Rows long_rows(const std::vector<ChannelSummary>& channels, const Roles& roles) {
  Rows rows = {
      {"channel", "name", "instrument", "notes", "lowest", "highest", "velocity", "at once", "role"}};
  for (const ChannelSummary& channel : channels)
    rows.push_back({std::to_string(channel.channel), printable(channel.name, 24),
                    channel.drums ? "" : family_of_program(channel.program), grouped(channel.notes),
                    channel.drums ? "" : hz(channel.lowest), channel.drums ? "" : hz(channel.highest),
                    velocities_of(channel), channel.drums ? "" : std::to_string(channel.most_at_once),
                    role_of(channel, roles)});
  return rows;
}

// The drums that are hit most, in one line.
std::string drum_line(const Score& score) {
  constexpr std::size_t kNamed = 3, kLongestName = 18;
  std::vector<std::pair<std::int64_t, int>> by_hits;
  std::int64_t hits = 0;
  for (const auto& [key, count] : drums_of(score)) by_hits.emplace_back(count, key), hits += count;
  if (by_hits.empty()) return "";
  std::stable_sort(by_hits.begin(), by_hits.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<std::string> named;
  for (std::size_t i = 0; i < std::min(kNamed, by_hits.size()); ++i)
    named.push_back(printable(drum_of_key(by_hits[i].second), kLongestName));
  const std::size_t more = by_hits.size() - named.size();
  return "  drums: " + grouped(hits) + " hits, mostly " + listed(named) +
         (more == 0 ? "" : "; " + std::to_string(more) + " more") + "\n";
}

// How many notes sound at once: for half of the time at most so many, and the most of all.
std::string polyphony_line(const Score& score) {
  const auto seconds = polyphony_of(score);
  const double half = std::accumulate(seconds.begin(), seconds.end(), 0.0) / 2;
  std::size_t usual = 0;
  for (double so_far = 0; usual < seconds.size(); ++usual)
    if ((so_far += seconds[usual]) >= half) break;
  const auto most = std::max<std::size_t>(seconds.size(), 1) - 1;
  return "  notes at once: " + std::to_string(usual) + " or fewer for half of the time, at most " +
         std::to_string(most) + "\n";
}

std::string long_tables(const Score& score) {
  Rows rows = {{"sounding at once", "for"}};
  const auto polyphony = polyphony_of(score);
  for (std::size_t i = 0; i < polyphony.size(); ++i)
    if (polyphony[i] > 0.0005) rows.push_back({std::to_string(i), song_length(polyphony[i])});
  std::string text = table(rows);
  std::string over_time;
  for (const int most : polyphony_over_time(score)) over_time += " " + std::to_string(most);
  text += "  most at once, every ten seconds:" + over_time + "\n";
  rows = {{"drum", "key", "hits"}};
  for (const auto& [key, hits] : drums_of(score))
    rows.push_back({drum_of_key(key), std::to_string(key), grouped(hits)});
  return rows.size() > 1 ? text + table(rows) : text;
}

// All remarks, or as many as leave the rest on one screen.
std::string remark_lines(const std::vector<std::string>& remarks, bool all) {
  if (!all && remarks.size() > 1)
    return "  " + std::to_string(remarks.size()) + " remarks on the file: see them with --all\n";
  std::string text;
  for (const std::string& it : remarks) text += "  " + it + "\n";
  return text;
}

}  // namespace

Json midi_json(const MidiFile& midi, const Score& score, const std::vector<ChannelSummary>& channels) {
  Json drums = Json::array();
  for (const auto& [key, hits] : drums_of(score))
    drums.push_back({{"key", key}, {"name", drum_of_key(key)}, {"hits", hits}});
  return {{"kind", "midi"},
          {"title", score.title},
          {"format", midi.format},
          {"tracks", midi.tracks.size()},
          {"length_s", score.length_s},
          {"notes", score.notes.size()},
          {"channels", channels_json(channels)},
          {"drums", drums},
          {"polyphony_s", polyphony_of(score)},
          {"polyphony_per_10_s", polyphony_over_time(score)},
          {"remarks", score.remarks}};
}

std::string midi_text(const MidiFile& midi, const Score& score, const std::vector<ChannelSummary>& channels,
                      bool all) {
  const Roles roles = suggested_roles(channels);
  std::string text = "\"" + printable(score.title, 40) + "\": " + song_length(score.length_s) + ", " +
                     grouped(static_cast<std::int64_t>(score.notes.size())) + " notes";
  if (all)
    text += ", MIDI format " + std::to_string(midi.format) + ", " + std::to_string(midi.tracks.size()) +
            " tracks";
  text += "\n" + table(all ? long_rows(channels, roles) : short_rows(channels, roles));
  text += all ? long_tables(score) : polyphony_line(score) + drum_line(score);
  return text + remark_lines(score.remarks, all);
}

}  // namespace burstloom::command
