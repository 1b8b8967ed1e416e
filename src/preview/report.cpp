// The report's data as JSON and base64, put into the page of src/preview/page.
#include "burstloom/preview/report.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "burstloom/common/cautions.hpp"
#include "burstloom/preview/page.hpp"
#include "burstloom/preview/sentence.hpp"
#include "burstloom/stream/files.hpp"
#include "report_page.hpp"

namespace burstloom {
namespace {

using Json = nlohmann::ordered_json;

std::string base64(std::span<const std::uint8_t> bytes) {
  static constexpr char kLetters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  text.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t have = std::min<std::size_t>(3, bytes.size() - i);
    std::uint32_t group = 0;
    for (std::size_t k = 0; k < 3; ++k) group = group << 8 | (k < have ? bytes[i + k] : 0u);
    for (std::size_t k = 0; k < 4; ++k) text += k <= have ? kLetters[group >> (18 - 6 * k) & 63] : '=';
  }
  return text;
}

// A level in dB as a byte: 0 is the floor of `kShownDb` below `top`, 255 is `top`.
constexpr double kShownDb = 80;
std::uint8_t level_byte(float db, double top) {
  const double part = 1 - (top - static_cast<double>(db)) / kShownDb;
  return static_cast<std::uint8_t>(std::lround(255 * std::clamp(part, 0.0, 1.0)));
}

Json spectrogram_json(const NamedSpectrogram& named) {
  const Spectrogram& shown = named.spectrogram;
  const float loudest = shown.db.empty() ? 0 : *std::max_element(shown.db.begin(), shown.db.end());
  const double top = std::max(10 * std::ceil(static_cast<double>(loudest) / 10), kFloorDb + kShownDb);
  Bytes levels;
  levels.reserve(shown.db.size());
  for (const float db : shown.db) levels.push_back(level_byte(db, top));
  return {{"name", named.name},
          {"columns", shown.columns},
          {"bands", shown.bands.count},
          {"lowest_hz", shown.bands.lowest_hz},
          {"highest_hz", shown.bands.highest_hz},
          {"length_s", shown.length_s},
          {"top_db", top},
          {"shown_db", kShownDb},
          {"levels", base64(levels)}};
}

Json gate_json(const Spectrum& gate) {
  Json hz = Json::array(), db = Json::array();
  for (std::size_t i = 0; i < gate.db.size(); ++i) {
    hz.push_back(std::round(10 * gate.bands.middle_hz(i)) / 10);
    db.push_back(std::round(10 * gate.db[i]) / 10);
  }
  return {{"hz", hz}, {"db", db}};
}

Json rounded(const std::vector<double>& values) {
  Json all = Json::array();
  for (const double value : values) all.push_back(std::round(1000 * value) / 1000);
  return all;
}

Json effects_json(const std::vector<BurstEffect>& effects) {
  Json all = Json::array();
  for (const BurstEffect& effect : effects)
    all.push_back({effect.on, effect.peak_a < 0 ? Json() : Json(effect.peak_a), effect.energy_j});
  return all;
}

Json limits_json(const Profile& profile) {
  Json duty = Json::array();
  for (const DutyLimit& limit : profile.limits.duty) duty.push_back({limit.window_ms, limit.percent});
  return {{"duty", duty}};
}

Json fates_json() {
  Json names = Json::array();
  for (std::size_t i = 0; i < kFates; ++i) names.push_back(name_of(static_cast<Fate>(i)));
  return names;
}

Json tables_json(const std::vector<ReportTable>& tables) {
  Json all = Json::array();
  for (const ReportTable& table : tables)
    all.push_back({{"target", table.target},
                   {"chip", table.chip},
                   {"table_bytes", table.table_bytes},
                   {"flash_used", table.flash_used},
                   {"flash_of", table.flash_of},
                   {"fits_until_s", table.fits_until_s},
                   {"refused", table.refused}});
  return all;
}

Json sounds_json(const std::vector<ReportSound>& sounds) {
  Json all = Json::array();
  for (const ReportSound& sound : sounds) all.push_back({{"name", sound.name}, {"type", sound.type}});
  return all;
}

std::string text_of(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string data_json(const ReportContent& content) {
  const Json json = {{"title", content.title},
                     {"limits", content.limits},
                     {"source", content.source},
                     {"sentence", sentence_of(content.judgement)},
                     {"check", Json::parse(content.check_json)},
                     {"tick_hz", content.stream.tick_hz},
                     {"length", content.stream.length},
                     {"count", content.stream.bursts.size()},
                     {"profile_limits", limits_json(content.profile)},
                     {"effects", effects_json(content.effects)},
                     {"junction_c", rounded(content.curves.junction_c)},
                     {"heatsink_c", rounded(content.curves.heatsink_c)},
                     {"bus_v", rounded(content.curves.bus_v)},
                     {"gate", gate_json(content.gate)},
                     {"fates", fates_json()},
                     {"tables", tables_json(content.tables)},
                     {"sounds", sounds_json(content.sounds)},
                     {"cautions", caution_paragraphs()}};
  return text_of(json);
}

std::string blob(const std::string& id, const std::string& base64_text) {
  return "<script type=\"text/plain\" id=\"" + id + "\">" + base64_text + "</script>\n";
}

std::string all_data(const ReportContent& content) {
  std::string html = json_script("data", data_json(content));
  html += blob("bursts", base64(burst_part(content.stream)));
  if (!content.account.empty()) html += blob("account", base64(note_part(content.account, content.stream)));
  Json spectrograms = Json::array();
  for (const NamedSpectrogram& named : content.spectrograms) spectrograms.push_back(spectrogram_json(named));
  html += json_script("spectrograms", text_of(spectrograms));
  for (std::size_t i = 0; i < content.sounds.size(); ++i)
    html += blob("sound-" + std::to_string(i), base64(content.sounds[i].file));
  return html;
}

}  // namespace

std::string report(const ReportContent& content) {
  require_in_order(content.stream, "the stream to be shown");
  return filled_in(report_template(),
                   {{"{{title}}", html_text(content.title.empty() ? content.source : content.title)},
                    {"{{style}}", std::string(page_style())},
                    {"{{data}}", all_data(content)},
                    {"{{script}}", std::string(plot_script()).append(report_script())}});
}

}  // namespace burstloom
