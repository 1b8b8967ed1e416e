// The operator's sheet: what changes from set to set is filled into src/sets/page/sheet.html.
#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "burstloom/check/verdict_words.hpp"
#include "burstloom/coil/profile.hpp"
#include "burstloom/common/cautions.hpp"
#include "burstloom/common/words.hpp"
#include "burstloom/preview/page.hpp"
#include "burstloom/preview/sentence.hpp"
#include "burstloom/sets/pages.hpp"
#include "page_parts.hpp"

namespace burstloom {
namespace {

// What a heatsink may be off its expectation before something is wrong. Our own choice, no published figure.
constexpr const char* kOffExpectation = "5 K";

std::string element(const std::string& tag, const std::string& html, const std::string& kind = "") {
  return "<" + tag + (kind.empty() ? "" : " class=\"" + kind + "\"") + ">" + html + "</" + tag + ">";
}

std::string name(const std::string& text) {
  return element("bdi", html_text(text));
}

std::string celsius(const std::optional<Temperatures>& at, double Temperatures::*part) {
  return at ? in_tenths((*at).*part) : "&ndash;";
}

// A temperature that must not be passed: never rounded up.
std::string at_most(double celsius) {
  return in_tenths(std::floor(10 * celsius + 1e-6) / 10);
}

// A silence to keep: never rounded down.
std::string at_least(double seconds) {
  const double kept = std::ceil(10 * seconds - 1e-6) / 10;
  const auto minutes = static_cast<long>(kept / 60);
  const std::string rest = figure(std::round(10 * (kept - 60 * static_cast<double>(minutes))) / 10) + " s";
  return minutes == 0 ? rest : std::to_string(minutes) + " min " + rest;
}

// The time of day where the start is given, else since the first song's start, and room to write.
std::string starts(const BuiltSong& song, const SheetOptions& options) {
  if (!options.starts_at_min) return "+ " + hours(song.start_s) + "<i></i>";
  constexpr double kDay_s = 86'400;
  const double at_s = std::round(60.0 * *options.starts_at_min + song.start_s),
               days = std::floor(at_s / kDay_s);
  return hours(at_s - days * kDay_s) + (days > 0 ? " (+" + figure(days) + " d)" : "");
}

// The heatsink from which a song may start: the first no warmer than the evening itself was judged from.
std::string start_at_most(const BuiltSong& song, const BuiltSet& set) {
  if (!song.judged_from) return "&ndash;";
  const double sink_c = song.judged_from->sink_c;
  return at_most(song.number == 1 ? std::min(sink_c, set.start_c) : sink_c);
}

std::string whole_notes(const NoteSums& notes) {
  if (notes.whole == notes.read) return "";
  return element("small", grouped(notes.whole) + " of " + grouped(notes.read) + " notes whole, " +
                              grouped(notes.cut_short) + " cut short, " + grouped(notes.not_played) +
                              " not played");
}

std::string row_of(const BuiltSong& song, const BuiltSet& set, const SheetOptions& options) {
  const bool is_last = &song == &set.songs.back();
  const std::string title = song.title.empty() ? song.stem : song.title;
  return "<tr>" + element("td", std::to_string(song.number), "number") +
         element("td", starts(song, options), "time") +
         element("td",
                 name(title) + (song.turned_down ? " *" : "") + element("small", name(song.stem)) +
                     whole_notes(song.notes),
                 "song") +
         element("td", hours(song.length_s), "time") +
         element("td", is_last ? "end" : at_least(song.pause_after_s), "pause") +
         element("td", start_at_most(song, set), "most") + element("td", "", "blank") +
         element("td", celsius(song.at_end, &Temperatures::sink_c)) + element("td", "", "blank") +
         element("td", celsius(song.highest, &Temperatures::junction_c)) + "</tr>\n";
}

std::string order(const BuiltSet& set, const SheetOptions& options) {
  std::string html = "<table id=\"order\"><thead><tr>";
  for (const char* head : {"", options.starts_at_min ? "starts at" : "starts, after the first",
                           "song and file", "length", "pause after it", "start only at or below, sink &deg;C",
                           "read", "expected at its end, sink &deg;C", "read", "highest junction &deg;C"})
    html += element("th", head);
  html += "</tr></thead><tbody>\n";
  bool any_turned_down = false;
  for (const BuiltSong& song : set.songs) {
    html += row_of(song, set, options);
    any_turned_down |= song.turned_down;
  }
  html += "</tbody></table>\n";
  if (any_turned_down) html += element("p", "* turned down for its warm start; the report says by how much.");
  return html;
}

std::string about(const BuiltSet& set, const SheetOptions& options) {
  double pauses_s = 0;
  for (const BuiltSong& song : set.songs)
    if (&song != &set.songs.back()) pauses_s += song.pause_after_s;
  return "Operator&rsquo;s sheet. " + std::to_string(set.songs.size()) + " songs in " + hours(set.length_s) +
         ", " + hours(pauses_s) + " of it pauses, for &ldquo;" + name(set.coil_name) + "&rdquo; (" +
         name(set.coil_file) + "). First song at " +
         (options.starts_at_min ? "<b>" + hours(60.0 * *options.starts_at_min) + "</b>" : "____ : ____") +
         ".";
}

std::string verdict(const BuiltSet& set) {
  const std::string sentence = html_text(sentence_of(set.evening)), mark = mark_of(set.evening.verdict);
  if (set.evening.verdict == Verdict::within_limits)
    return "<p id=\"verdict\">" + mark + " The evening as one stream: " + sentence + "</p>";
  return "<p id=\"verdict\" class=\"outside\"><b>" + mark + " DO NOT PLAY THIS SET.</b> " + sentence +
         " Lengthen pauses (a plan proposes them), build it again, print a new sheet.</p>";
}

std::string again(const BuiltSet& set) {
  if (const auto rest = set.evening.rest_before_repeat_s)
    return "The whole set may be played again after a rest of at least " + at_least(*rest) + ".";
  return set.evening.verdict == Verdict::within_limits
             ? "The set may not be played again: no day of rest is enough."
             : "The set may not be played, as it is outside its limits.";
}

std::string conditions(const BuiltSet& set) {
  const Profile profile = parse_profile(set.profile, set.coil_file);
  std::string html;
  if (const auto bus_v = profile.drive.bus_v)
    html += element("li", "Bus " + figure(*bus_v) + " V, never above " +
                              figure(*bus_v * (1 + profile.drive.bus_tolerance_percent / 100)) + " V.") +
            "\n";
  if (!set.heat.empty())
    html += element("li", "Heatsink at most " + at_most(set.start_c) +
                              " &deg;C when the first song starts, air around it at most " +
                              at_most(set.ambient_c) + " &deg;C.") +
            "\n";
  html += element("li",
                  "The coil is the one in the profile: same tank, switches, heatsink, fan and supply, "
                  "nothing near that detunes it.") +
          "\n";
  return html + element("li", again(set));
}

const LimitResult* limit_named(const Judgement& judgement, const std::string& limit) {
  for (const LimitResult& each : judgement.limits)
    if (each.limit == limit) return &each;
  return nullptr;
}

std::string watch(const BuiltSet& set) {
  if (set.heat.empty())
    return element("li",
                   "<b>No temperatures are known for this coil:</b> its profile does not tell heat. Feel for "
                   "it in every "
                   "pause, from a coil that is off and discharged.");
  const LimitResult* sink = limit_named(set.evening, "heatsink");
  std::string html;
  if (sink != nullptr)
    html += element("li", "<b>Heatsink at " + at_most(sink->allowed) +
                              " &deg;C: stop.</b> Read it from outside the barrier, or with the coil off.") +
            "\n";
  return html + element("li", std::string("<b>Heatsink ") + kOffExpectation +
                                  " or more above what a song&rsquo;s end should bring: stop.</b> Something "
                                  "is not as in the profile. "
                                  "The junction cannot be read; it follows the heatsink.");
}

std::string limits(const BuiltSet& set) {
  std::string html = "<table id=\"limits\"><thead><tr>";
  for (const char* head : {"limit", "allowed", "this evening at worst", "margin", "at", ""})
    html += element("th", head);
  html += "</tr></thead><tbody>\n";
  for (const LimitResult& each : set.evening.limits)
    html += (each.held ? "<tr>" : "<tr class=\"exceeded\">") + element("td", html_text(each.limit)) +
            element("td", html_text(with_unit(each.allowed, each.unit))) +
            element("td", html_text(with_unit(each.worst, each.unit))) +
            element("td", in_tenths(each.margin_percent) + " %") + element("td", hours(each.at_s), "time") +
            element("td", std::string(mark_of(each)) + " " + state_words(each)) + "</tr>\n";
  for (const NotJudged& each : set.evening.not_judged)
    html += "<tr>" + element("td", html_text(each.limit)) +
            "<td colspan=\"5\">not judged: " + html_text(each.why) + "</td></tr>\n";
  return html + "</tbody></table>";
}

std::string remarks(const BuiltSet& set) {
  std::string items;
  for (const std::string& remark : set.remarks) items += element("li", html_text(remark)) + "\n";
  for (const std::string& remark : set.evening.remarks) items += element("li", html_text(remark)) + "\n";
  return items.empty() ? "" : "<section><h2>Remarks</h2><ul>\n" + items + "</ul></section>";
}

std::string cautions() {
  std::string html;
  for (const std::string& paragraph : caution_paragraphs()) html += element("p", html_text(paragraph)) + "\n";
  return html;
}

}  // namespace

std::string operators_sheet(const BuiltSet& set, const SheetOptions& options) {
  return filled_in(sheet_template(), {{"{{title}}", html_text(set.name) + " &ndash; operator&rsquo;s sheet"},
                                      {"{{style}}", std::string(sheet_style())},
                                      {"{{name}}", html_text(set.name)},
                                      {"{{about}}", about(set, options)},
                                      {"{{verdict}}", verdict(set)},
                                      {"{{order}}", order(set, options)},
                                      {"{{conditions}}", conditions(set)},
                                      {"{{watch}}", watch(set)},
                                      {"{{limits}}", limits(set)},
                                      {"{{remarks}}", remarks(set)},
                                      {"{{cautions}}", cautions()}});
}

}  // namespace burstloom
