// The same coil, warmer: a profile for a song that others went before.
#include <toml++/toml.h>

#include <sstream>

#include "burstloom/coil/limits_line.hpp"
#include "burstloom/coil/profile.hpp"

namespace burstloom {
namespace {

std::string text_with(const std::string& text, double sink_c, double case_c) {
  if (text.empty()) return text;
  toml::table table = toml::parse(text);
  if (!table.contains("heatsink")) table.insert("heatsink", toml::table{});
  toml::table& heatsink = *table["heatsink"].as_table();
  heatsink.insert_or_assign("start_c", sink_c);
  heatsink.insert_or_assign("case_start_c", case_c);
  std::ostringstream written;
  written << "# The coil's profile without its comments; the temperatures in [heatsink] are those from which "
             "the song "
             "starts.\n"
          << table << "\n";
  return written.str();
}

}  // namespace

Profile started_at(const Profile& profile, double sink_c, double case_c) {
  Profile started = profile;
  const Heatsink& given = profile.heatsink;
  const double given_sink_c = given.start_c.value_or(given.ambient_c);
  if (sink_c == given_sink_c && case_c == given.case_start_c.value_or(given_sink_c)) return started;
  started.heatsink.start_c = sink_c;
  started.heatsink.case_start_c = case_c;
  started.text = text_with(profile.text, sink_c, case_c);
  return started;
}

bool is_same_coil(const Profile& a, const Profile& b) {
  constexpr double kSame_c = 0;
  return a.text == b.text || text_with(a.text, kSame_c, kSame_c) == text_with(b.text, kSame_c, kSame_c);
}

}  // namespace burstloom
