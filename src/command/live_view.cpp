#include "live_view.hpp"

#include <algorithm>
#include <cmath>

#include "player_words.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

constexpr std::size_t kPageWidth = 79, kPageLines = 24, kDutiesShown = 4, kPortsShown = 4;

std::string note_of_key(const LiveNote& note) {
  if (note.drums) return "drum " + std::to_string(note.key);
  constexpr const char* kNames[] = {"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"};
  return kNames[note.key % 12] + std::to_string(note.key / 12 - 1);
}

std::string sounding(const LiveState& engine) {
  std::string text;
  for (std::size_t i = 0; i < engine.sounding_count; ++i)
    text += (i == 0 ? "" : " ") + note_of_key(engine.sounding[i]);
  return text.empty() ? "none" : text;
}

std::string us_of(Tick ticks, double tick_hz) {
  return figure(static_cast<double>(ticks) / tick_hz * 1e6) + " µs";
}

std::string percent(double part) {
  return figure(std::round(part * 100)) + " %";
}

std::string link_words(const LiveView& view) {
  if (!view.link.has_link) return "a file only: " + view.to;
  if (view.link.over) return "over";
  if (view.link.playing) return "playing on " + view.to;
  return view.link.status ? waiting_for(*view.link.status) : "nobody has answered on " + view.to + " yet";
}

std::string port_words(const MidiInputs::Port& port, const PortFigures& figures) {
  std::string text = printable(port.name, 40) + ": ";
  text += port.present ? grouped(static_cast<std::int64_t>(figures.keys_down)) + " keys down, " +
                             grouped(figures.messages) + " messages"
                       : std::string("unplugged");
  if (figures.losses > 0) text += ", lost " + grouped(figures.losses) + " times";
  if (figures.dropped > 0) text += ", " + grouped(figures.dropped) + " messages dropped";
  return text;
}

using Rows = std::vector<std::vector<std::string>>;

void add_part(Rows& rows, const std::string& name, double part) {
  if (part >= 0) rows.push_back({name, bar_of(part), percent(part) + " of what is allowed"});
}

// The fullest windows, in the profile's order.
void add_live_duties(Rows& rows, const LiveView& view) {
  const auto& limits = view.profile.limits.duty;
  const std::size_t count = std::min(limits.size(), kMostDutyWindows);
  std::vector<double> fullest(view.now.engine.duty.begin(),
                              view.now.engine.duty.begin() + static_cast<std::ptrdiff_t>(count));
  std::sort(fullest.rbegin(), fullest.rend());
  const double least = count > kDutiesShown ? fullest[kDutiesShown - 1] : -1;
  std::size_t shown = 0;
  for (std::size_t i = 0; i < count && shown < kDutiesShown; ++i) {
    if (view.now.engine.duty[i] < std::max(0.0, least)) continue;
    add_part(rows, "duty " + figure(limits[i].window_ms) + " ms", view.now.engine.duty[i]);
    ++shown;
  }
}

// Parts of the rise above ambient, as verdicts count them.
void add_heat(Rows& rows, const std::string& name, double now_c, const std::optional<double>& limit_c,
              double ambient_c) {
  if (!limit_c) {
    rows.push_back({name, "", figure(std::round(now_c)) + " °C predicted, no limit given"});
    return;
  }
  rows.push_back({name, bar_of((now_c - ambient_c) / (*limit_c - ambient_c)),
                  figure(std::round(now_c)) + " °C predicted, " + figure(*limit_c) + " °C allowed"});
}

std::string limits_page(const LiveView& view) {
  Rows rows;
  add_live_duties(rows, view);
  const LiveState& engine = view.now.engine;
  add_part(rows, "break rate", engine.break_rate);
  add_part(rows, "supply", engine.supply);
  add_part(rows, "tank current", engine.tank_current);
  const double ambient_c = view.profile.heatsink.ambient_c;
  if (engine.knows_heat) {
    add_heat(rows, "junction", engine.junction_c, view.profile.limits.junction_c, ambient_c);
    add_heat(rows, "heatsink", engine.sink_c, view.profile.limits.heatsink_c, ambient_c);
  } else {
    rows.push_back({"heat", "", "not known: the profile lacks figures for it"});
  }
  return table(rows);
}

// The limits that changed most bursts.
std::string refused_because(const LiveView& view) {
  std::vector<std::pair<std::int64_t, std::string>> because;
  const std::vector<std::string> names = limit_names(view.profile.limits);
  for (std::size_t i = 0; i < names.size(); ++i)
    if (view.now.engine.because[i] > 0) because.emplace_back(view.now.engine.because[i], names[i]);
  std::sort(because.rbegin(), because.rend());
  std::string text;
  for (std::size_t i = 0; i < std::min<std::size_t>(3, because.size()); ++i)
    text += (i == 0 ? "by " : ", ") + because[i].second + " " + grouped(because[i].first);
  return text;
}

std::string fates_of(const LiveState& engine) {
  std::string text;
  for (std::size_t i = 0; i < kFates; ++i)
    text += (i == 0 ? "" : ", ") + grouped(engine.bursts[i]) + " " + name_of(static_cast<Fate>(i));
  return text;
}

std::string state_words(const LiveView& view) {
  if (view.now.silent) return "SILENT: space lets it sound again";
  return view.now.engine.gain < 0.995 ? "turned down to " + percent(view.now.engine.gain) : "";
}

// Never more lines or columns than a small terminal has.
std::string fitted(const std::string& text) {
  std::string page;
  std::size_t lines = 0;
  for (std::size_t at = 0; at < text.size() && lines < kPageLines; ++lines) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    page += printable(text.substr(at, end - at), kPageWidth) + "\n";
    at = end + 1;
  }
  return page;
}

}  // namespace

Tick SoftStart::longest_on() const {
  if (step_ == kSteps) return high_;
  const double ratio = static_cast<double>(high_) / static_cast<double>(low_);
  return std::min(high_, static_cast<Tick>(std::floor(static_cast<double>(low_) *
                                                      std::pow(ratio, static_cast<double>(step_) / kSteps))));
}

std::string not_played(const LiveView& view) {
  const LiveDropped& dropped = view.link.dropped;
  const std::int64_t late = view.now.late + dropped.late + dropped.not_playing;
  const std::int64_t missed = view.link.status ? view.link.status->missed : 0;
  if (late + dropped.line_full + dropped.unfit + missed == 0) return "";
  return "not played: " + grouped(late) + " too late, " + grouped(dropped.line_full) + " line full, " +
         grouped(dropped.unfit) + " outside the player's limits, " + grouped(missed) +
         " missed by the player";
}

std::string live_page(const LiveView& view) {
  const LiveState& engine = view.now.engine;
  std::string text = " " + clock_time(view.passed_s) + "  \"" + printable(view.profile.name, 40) + "\"  " +
                     state_words(view) + "\n";
  text += " link: " + link_words(view) + ", latency " + figure(view.latency_ms) + " ms\n";
  for (std::size_t i = 0; i < std::min(kPortsShown, view.ports.size()); ++i)
    text += " port: " + port_words(view.ports[i], view.now.ports[i]) + "\n";
  if (view.ports.size() > kPortsShown)
    text += " and " + std::to_string(view.ports.size() - kPortsShown) + " ports more\n";
  text += " sounding: " + sounding(engine) + "\n";
  text += " on-time: last " + us_of(engine.last_on, view.tick_hz) + ", longest allowed " +
          us_of(view.soft_start.longest_on(), view.tick_hz) + " (step " +
          std::to_string(view.soft_start.step()) + " of " + std::to_string(SoftStart::kSteps) + ")\n\n";
  text += limits_page(view);
  text += "\n notes: " + grouped(engine.notes) + " heard, " + grouped(engine.stolen) + " stolen, " +
          grouped(engine.skipped) + " skipped\n";
  text += " bursts: " + fates_of(engine) + "\n";
  text += " changed: " + refused_because(view) + "\n";
  if (const std::string lost = not_played(view); !lost.empty()) text += " " + lost + "\n";
  text += " space silence   + - longest burst   q stop\n";
  if (!view.remarks.empty()) text += " " + view.remarks.back() + "\n";
  return fitted(text);
}

std::string live_line(const LiveView& view) {
  const LiveState& engine = view.now.engine;
  double duty = 0;
  for (std::size_t i = 0; i < std::min(view.profile.limits.duty.size(), kMostDutyWindows); ++i)
    duty = std::max(duty, engine.duty[i]);
  std::string text = clock_time(view.passed_s) + "  " +
                     (view.link.playing ? "sounding " + sounding(engine) : link_words(view)) +
                     ", fullest duty window " + percent(duty);
  if (engine.knows_heat) text += ", junction " + figure(std::round(engine.junction_c)) + " °C";
  text += ", " + grouped(engine.bursts[static_cast<std::size_t>(Fate::dropped)]) + " bursts dropped";
  if (const std::string lost = not_played(view); !lost.empty()) text += ", " + lost;
  const std::string state = state_words(view);
  return text + (state.empty() ? "" : ", " + state);
}

Json live_json(const LiveView& view) {
  const LiveState& engine = view.now.engine;
  Ledger ledger;
  for (std::size_t i = 0; i < kFates; ++i) ledger.wanted += ledger.count[i] = engine.bursts[i];
  Json because = Json::object();
  const std::vector<std::string> names = limit_names(view.profile.limits);
  for (std::size_t i = 0; i < names.size(); ++i)
    if (engine.because[i] > 0) because[names[i]] = engine.because[i];
  Json ports = Json::array();
  for (std::size_t i = 0; i < view.ports.size(); ++i)
    ports.push_back({{"name", view.ports[i].name},
                     {"messages", view.now.ports[i].messages},
                     {"dropped", view.now.ports[i].dropped},
                     {"overflows", view.now.ports[i].gaps},
                     {"losses", view.now.ports[i].losses}});
  return {{"passed_s", view.passed_s},
          {"latency_ms", view.latency_ms},
          {"longest_on_us", static_cast<double>(view.soft_start.longest_on()) / view.tick_hz * 1e6},
          {"notes", {{"heard", engine.notes}, {"stolen", engine.stolen}, {"skipped", engine.skipped}}},
          {"ledger", to_json(ledger)},
          {"because", because},
          {"too_late", view.now.late},
          {"link",
           {{"not_sent", view.link.dropped.total()},
            {"line_full", view.link.dropped.line_full},
            {"late", view.link.dropped.late},
            {"unfit", view.link.dropped.unfit},
            {"not_playing", view.link.dropped.not_playing},
            {"frames_sent_again", view.link.sent_again},
            {"missed", view.link.status ? view.link.status->missed : 0}}},
          {"ports", ports},
          {"recorded", Json::array({view.record + ".burst", view.record + ".mid"})},
          {"remarks", view.remarks}};
}

}  // namespace burstloom::command
