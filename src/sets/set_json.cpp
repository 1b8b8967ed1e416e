#include "set_json.hpp"

#include <filesystem>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/sets/set_json.hpp"

// What may be missing is null.
template <class Value>
struct nlohmann::adl_serializer<std::optional<Value>> {
  template <class Json>
  static void to_json(Json& json, const std::optional<Value>& value) {
    if (value)
      json = *value;
    else
      json = nullptr;
  }
  template <class Json>
  static void from_json(const Json& json, std::optional<Value>& value) {
    if (json.is_null())
      value.reset();
    else
      value = json.template get<Value>();
  }
};

namespace burstloom {
namespace {

constexpr const char* kFormat = "burstloom set 1";

}  // namespace

NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(LimitResult, limit, unit, worst, in_stream, allowed, at_s, held, unsure,
                                   margin_percent)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(Violation, limit, unit, at_s, value, allowed)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(ViolationSpan, limit, unit, from_s, until_s, worst, allowed, count)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(NoteLoss, reason, notes)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(NoteSums, read, whole, cut_short, not_played, other_octave, cut_short_by,
                                   not_played_by)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(NotJudged, limit, why)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(Temperatures, junction_c, sink_c)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(HeatStart, sink_c, case_c)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(HeatPoint, from_s, junction_c, sink_c)

void to_json(Json& json, const Judgement& it) {
  json = {{"verdict", name_of(it.verdict)},
          {"limits", it.limits},
          {"violations", it.violations},
          {"violations_in_all", it.violations_in_all},
          {"spans", it.spans},
          {"not_judged", it.not_judged},
          {"remarks", it.remarks},
          {"rest_before_repeat_s", it.rest_before_repeat_s}};
}

void from_json(const Json& json, Judgement& it) {
  const auto verdict = json.at("verdict").get<std::string>();
  it.verdict = Verdict::cannot_tell;
  for (const Verdict each : {Verdict::within_limits, Verdict::outside_limits})
    if (verdict == name_of(each)) it.verdict = each;
  json.at("limits").get_to(it.limits);
  json.at("violations").get_to(it.violations);
  json.at("violations_in_all").get_to(it.violations_in_all);
  json.at("spans").get_to(it.spans);
  json.at("not_judged").get_to(it.not_judged);
  json.at("remarks").get_to(it.remarks);
  json.at("rest_before_repeat_s").get_to(it.rest_before_repeat_s);
}

void to_json(Json& json, const LedgerCounts& counts) {
  json = {{"wanted", counts.wanted}};
  for (std::size_t i = 0; i < kFates; ++i) json[name_of(static_cast<Fate>(i))] = counts.count[i];
}

void from_json(const Json& json, LedgerCounts& counts) {
  json.at("wanted").get_to(counts.wanted);
  for (std::size_t i = 0; i < kFates; ++i) json.at(name_of(static_cast<Fate>(i))).get_to(counts.count[i]);
}

NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(BuiltSong, number, stem, title, source, burst_file, stream_hash,
                                   preview_file, start_s, length_s, pause_after_s, bursts, tick_hz, at_start,
                                   at_end, highest, judged_from, lowest_bus_v, judgement, ledger, notes,
                                   turned_down, ledger_from_cold, remarks)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(OrderPlan, order, pause_after_s, pauses_s, length_s, impossible)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(SongMove, song, to_place, saves_s)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(SetPlan, as_ordered, moves, reordered)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(BuiltSet, name, coil_name, coil_file, profile, start_c, ambient_c, songs,
                                   length_s, evening, heat, plan, remarks)

std::string text_of(const Json& json, int indent) {
  return json.dump(indent, ' ', false, Json::error_handler_t::replace);
}

std::string to_set_json(const BuiltSet& set) {
  Json json = {{"format", kFormat}};
  json.update(Json(set));
  return text_of(json, 1) + "\n";
}

BuiltSet from_set_json(std::string_view text, const std::string& name) {
  const auto refuse = [&](const std::string& what) {
    return bad_input(what, name, "give the set.json of a set that this version built, or build it again");
  };
  const Json json = Json::parse(text, nullptr, false);
  if (!json.is_object() || json.value("format", "") != kFormat) throw refuse("is no set that was built");
  try {
    return json.get<BuiltSet>();
  } catch (const nlohmann::json::exception& problem) {
    throw refuse("does not say all that a built set says (" + printable(problem.what(), 120) + ")");
  }
}

BuiltSet read_built_set(const std::string& path) {
  std::error_code ignored;
  const std::string file = std::filesystem::is_directory(path, ignored)
                               ? (std::filesystem::path(path) / "set.json").string()
                               : path;
  const Bytes bytes = read_file(file);
  return from_set_json({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, printable(file, 200));
}

}  // namespace burstloom
