// The values of a set as JSON, for set.json and for what is kept between runs.
#pragma once

#include <nlohmann/json.hpp>

#include "burstloom/sets/built_set.hpp"

namespace burstloom {

using Json = nlohmann::json;

void to_json(Json& json, const Judgement& judgement);
void from_json(const Json& json, Judgement& judgement);
void to_json(Json& json, const LedgerCounts& counts);
void from_json(const Json& json, LedgerCounts& counts);

/// Compact text; broken UTF-8 is replaced.
[[nodiscard]] std::string text_of(const Json& json, int indent = -1);

}  // namespace burstloom
