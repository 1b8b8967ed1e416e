#include "burstloom/common/error.hpp"
#include "cautions.hpp"
#include "encode.hpp"
#include "project_files.hpp"
#include "words.hpp"

namespace burstloom {
namespace {

using table_detail::CompiledLimits;
using table_detail::kReadme;
using table_detail::number;

constexpr std::int64_t kSlowestBaud = 9'600;

CompiledLimits limits_of(const LinkPlayer& player, const Target& target) {
  if (target.link_fastest_baud == 0)
    throw Error(Fault::usage, "there is no player on a serial link for " + target.chip, "",
                "choose another target, or export a song as a table");
  if (player.baud < kSlowestBaud || player.baud > target.link_fastest_baud)
    throw Error(Fault::usage, "a serial line of " + std::to_string(player.baud) + " baud", "",
                "give --baud a rate from " + std::to_string(kSlowestBaud) + " to " +
                    std::to_string(target.link_fastest_baud) + ", with which " + target.chip + " keeps up");
  TableInput input;
  input.stream.tick_hz = target.tick_hz;
  input.profile = player.profile;
  input.rest_before_repeat_s = player.rest_s;
  Target with_less_ram = target;
  with_less_ram.guard_ram_bytes = target.link_guard_ram_bytes;
  return table_detail::compiled_limits(input, with_less_ram);
}

std::string header(const LinkPlayer& player, const Target& target, const CompiledLimits& limits) {
  return "/*\n * Limits of a player on a serial link, made by Burstloom for " + target.chip +
         ".\n * Coil: " + table_detail::in_comment(player.profile.name) + "\n" +
         table_detail::whose_limits_in_comment(player.whose_limits) + " *\n" +
         table_detail::comment_lines(kCautions) + " *\n" +
         table_detail::comment_lines(table_detail::kPolarity) +
         " */\n#ifndef BURST_TABLE_H\n#define BURST_TABLE_H\n#define BURST_TABLE_TICK_HZ " +
         std::to_string(target.tick_hz) + "UL\n" + table_detail::limit_definitions(limits) +
         "#define BURST_LINK_BAUD " + std::to_string(player.baud) + "UL\n#endif\n";
}

std::string readme(const LinkPlayer& player, const Target& target, const CompiledLimits& limits) {
  const auto us = [&](Tick ticks) {
    return number(static_cast<double>(ticks) * 1e6 / static_cast<double>(target.tick_hz)) + " us";
  };
  std::string text = "# A player on a serial link, on " + target.chip +
                     "\n\nCoil: " + table_detail::in_markdown(player.profile.name) + "  \n" +
                     table_detail::whose_limits_in_markdown(player.whose_limits) +
                     "Compiled in, whatever comes over the wire: on-time at most " + us(limits.on_max) +
                     ", gap at least " + us(limits.gap_min) + ", rest before it may start (again) at least " +
                     number(static_cast<double>(limits.rest_ms) / 1000) +
                     " s  \nLine: " + std::to_string(player.baud) +
                     " baud, 8 data bits, no parity, 1 stop bit\n\n## Cautions\n\n";
  return text + table_detail::paragraphs(kCautions) + "\n" +
         table_detail::paragraphs(table_detail::kPolarity);
}

// A table and what reads it stay out; link/x joins player/, link/<target>/x and ports/<target>/x become
// port/x, but the Makefile and the README come to the top.
std::string place_in_project(std::string_view path, const Target& target) {
  for (const char* reader :
       {"table.c", "table_bytes.c", "table_source.c", "voices.c", "weaver.c", "set.c", "set.h"})
    if (path == "player/" + std::string(reader)) return {};
  if (path.starts_with("player/")) return std::string(path);
  for (const std::string& folder : {"link/" + target.name + "/", "ports/" + target.name + "/"}) {
    if (!path.starts_with(folder)) continue;
    const std::string name(path.substr(folder.size()));
    if (name == kReadme) return folder.starts_with("link/") ? name : "";
    return name == "Makefile" ? name : "port/" + name;
  }
  const std::string_view shared = "link/";
  const bool is_shared = path.starts_with(shared) && path.find('/', shared.size()) == std::string_view::npos;
  return is_shared ? "player/" + std::string(path.substr(shared.size())) : "";
}

}  // namespace

std::vector<FolderFile> link_player(const LinkPlayer& player, const Target& target) {
  const CompiledLimits limits = limits_of(player, target);
  return table_detail::laid_out(header(player, target, limits), readme(player, target, limits),
                                [&](std::string_view path) { return place_in_project(path, target); });
}

}  // namespace burstloom
