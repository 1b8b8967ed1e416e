// What is in a score, channel by channel, and a first arrangement of it.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <map>
#include <set>

#include "burstloom/common/error.hpp"
#include "burstloom/score/arrangement.hpp"

namespace burstloom {
namespace {

struct Edge {
  double at_s;
  bool begins;
  std::size_t note;
};

std::vector<Edge> edges_of(const std::vector<Note>& notes) {
  std::vector<Edge> edges;
  for (std::size_t i = 0; i < notes.size(); ++i)
    if (notes[i].end_s > notes[i].start_s && notes[i].part != Part::drums) {
      edges.push_back({notes[i].start_s, true, i});
      edges.push_back({notes[i].end_s, false, i});
    }
  std::sort(edges.begin(), edges.end(), [](const Edge& a, const Edge& b) {
    return a.at_s != b.at_s ? a.at_s < b.at_s : a.begins < b.begins;
  });
  return edges;
}

// Who sounds, who is on top and who at the bottom, from moment to moment.
void add_times(const std::vector<Note>& notes, std::array<ChannelSummary, 16>& channels) {
  std::multiset<std::pair<double, int>> sounding;  // key, channel
  std::array<int, 16> at_once{};
  double since_s = 0;
  for (const Edge& edge : edges_of(notes)) {
    const double passed_s = edge.at_s - since_s;
    since_s = edge.at_s;
    if (!sounding.empty()) {
      channels[static_cast<std::size_t>(sounding.rbegin()->second)].on_top_s += passed_s;
      channels[static_cast<std::size_t>(sounding.begin()->second)].at_bottom_s += passed_s;
    }
    for (std::size_t c = 0; c < 16; ++c)
      if (at_once[c] > 0) channels[c].sounding_s += passed_s;
    const Note& note = notes[edge.note];
    const auto c = static_cast<std::size_t>(note.channel);
    if (edge.begins) {
      sounding.emplace(note.key, note.channel);
      channels[c].most_at_once = std::max(channels[c].most_at_once, ++at_once[c]);
    } else {
      sounding.erase(sounding.find({note.key, note.channel}));
      --at_once[c];
    }
  }
}

std::string quoted_comment(const std::string& text) {
  std::string safe = printable(text, 60);
  std::replace(safe.begin(), safe.end(), '\n', ' ');
  return safe;
}

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.4g", value);
  return text;
}

std::string about(const ChannelSummary& channel) {
  std::string text = "# ";
  if (!channel.name.empty()) text += quoted_comment(channel.name) + "; ";
  if (channel.program >= 0) text += family_of_program(channel.program) + "; ";
  text += std::to_string(channel.notes) + " notes";
  if (!channel.drums)
    text += ", " + number(key_hz(channel.lowest)) + " to " + number(key_hz(channel.highest)) + " Hz, up to " +
            std::to_string(channel.most_at_once) + " at once";
  return text + "\n";
}

}  // namespace

std::vector<ChannelSummary> summarise(const Score& score, const std::vector<std::string>& track_names) {
  std::array<ChannelSummary, 16> channels;
  std::array<std::map<int, std::int64_t>, 16> tracks;
  for (const Note& note : score.notes) {
    const auto c = static_cast<std::size_t>(note.channel);
    ChannelSummary& channel = channels[c];
    const bool first = channel.notes++ == 0;
    channel.lowest = first ? note.key : std::min(channel.lowest, note.key);
    channel.highest = std::max(channel.highest, note.key);
    channel.softest = first ? note.velocity : std::min(channel.softest, note.velocity);
    channel.loudest = std::max(channel.loudest, note.velocity);
    channel.drums |= note.part == Part::drums;
    ++tracks[c][note.track];
  }
  add_times(score.notes, channels);
  std::vector<ChannelSummary> used;
  for (std::size_t c = 0; c < 16; ++c) {
    if (channels[c].notes == 0) continue;
    channels[c].channel = static_cast<int>(c) + 1;
    channels[c].program = score.channels[c].program;
    const auto most = std::max_element(tracks[c].begin(), tracks[c].end(),
                                       [](const auto& a, const auto& b) { return a.second < b.second; });
    if (static_cast<std::size_t>(most->first) < track_names.size())
      channels[c].name = track_names[static_cast<std::size_t>(most->first)];
    used.push_back(channels[c]);
  }
  return used;
}

Roles suggested_roles(const std::vector<ChannelSummary>& channels) {
  Roles roles;
  double longest = 0;
  for (const ChannelSummary& channel : channels)
    if (!channel.drums && channel.on_top_s > longest)
      longest = channel.on_top_s, roles.lead = channel.channel;
  longest = 0;
  for (const ChannelSummary& channel : channels)
    if (!channel.drums && channel.channel != roles.lead && channel.at_bottom_s > longest)
      longest = channel.at_bottom_s, roles.bass = channel.channel;
  return roles;
}

std::string suggest_arrangement(const Score& score, const std::vector<ChannelSummary>& channels) {
  const Roles roles = suggested_roles(channels);
  std::string text = "# A first arrangement of \"" + quoted_comment(score.title) +
                     "\", to edit. docs/reference/arrangement.md has all keys.\n\n"
                     "[song]\n# tempo_factor = 1.0     # 2 is twice as fast\n# start_s = 0.0          # "
                     "seconds of the file\n"
                     "# end_s = " +
                     number(std::ceil(score.length_s)) + "\n# fade_in_s = 0.0\n# fade_out_s = 2.0\n";
  for (const ChannelSummary& channel : channels) {
    text += "\n" + about(channel) + "[[channel]]\nchannel = " + std::to_string(channel.channel) + "\n";
    if (channel.drums) text += "role = \"drums\"\n";
    if (channel.channel == roles.lead)
      text += "role = \"lead\"          # highest of all for " + number(channel.on_top_s) + " s of the " +
              number(channel.sounding_s) + " s it sounds\n";
    if (channel.channel == roles.bass)
      text += "role = \"bass\"          # lowest of all for " + number(channel.at_bottom_s) + " s\n";
    text += "# on = false\n";
    if (!channel.drums)
      text += "# transpose = 12        # semitones\n# voices = " +
              std::to_string(std::max(1, channel.most_at_once)) +
              "            # at once\n# envelope = \"held\"      # or \"plucked\"\n";
    text += "# gain_db = -6.0\n";
  }
  std::set<int> drums;
  for (const Note& note : score.notes)
    if (note.part == Part::drums) drums.insert(static_cast<int>(note.key));
  if (!drums.empty()) text += "\n[drums]   # another percussion key, or \"off\"\n";
  for (const int key : drums) {
    const std::string name = drum_of_key(key);
    text +=
        "# " + std::to_string(key) + " = \"off\"   # " + (name.empty() ? "not in General MIDI" : name) + "\n";
  }
  return text;
}

// General MIDI level 1, instrument families and percussion map (names as in the Standard MIDI File text's
// appendix 1.5 where printed there, the others from memory).
std::string family_of_program(int program) {
  constexpr const char* kFamilies[] = {"piano",         "chromatic percussion",
                                       "organ",         "guitar",
                                       "bass",          "strings",
                                       "ensemble",      "brass",
                                       "reed",          "pipe",
                                       "synth lead",    "synth pad",
                                       "synth effects", "ethnic",
                                       "percussive",    "sound effects"};
  return program >= 0 && program < 128 ? kFamilies[program / 8] : "";
}

std::string drum_of_key(int key) {
  constexpr const char* kNames[] = {"Acoustic Bass Drum",
                                    "Bass Drum 1",
                                    "Side Stick",
                                    "Acoustic Snare",
                                    "Hand Clap",
                                    "Electric Snare",
                                    "Low Floor Tom",
                                    "Closed Hi-Hat",
                                    "High Floor Tom",
                                    "Pedal Hi-Hat",
                                    "Low Tom",
                                    "Open Hi-Hat",
                                    "Low-Mid Tom",
                                    "Hi-Mid Tom",
                                    "Crash Cymbal 1",
                                    "High Tom",
                                    "Ride Cymbal 1",
                                    "Chinese Cymbal",
                                    "Ride Bell",
                                    "Tambourine",
                                    "Splash Cymbal",
                                    "Cowbell",
                                    "Crash Cymbal 2",
                                    "Vibraslap",
                                    "Ride Cymbal 2",
                                    "Hi Bongo",
                                    "Low Bongo",
                                    "Mute Hi Conga",
                                    "Open Hi Conga",
                                    "Low Conga",
                                    "High Timbale",
                                    "Low Timbale",
                                    "High Agogo",
                                    "Low Agogo",
                                    "Cabasa",
                                    "Maracas",
                                    "Short Whistle",
                                    "Long Whistle",
                                    "Short Guiro",
                                    "Long Guiro",
                                    "Claves",
                                    "Hi Wood Block",
                                    "Low Wood Block",
                                    "Mute Cuica",
                                    "Open Cuica",
                                    "Mute Triangle",
                                    "Open Triangle"};
  return key >= 35 && key <= 81 ? kNames[key - 35] : "";
}

}  // namespace burstloom
