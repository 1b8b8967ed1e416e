#include <algorithm>

#include "burstloom/common/error.hpp"
#include "cautions.hpp"
#include "embedded.hpp"
#include "project_files.hpp"
#include "stream_tables.hpp"
#include "words.hpp"

namespace burstloom {
namespace {

using namespace table_detail;

constexpr std::string_view kBehaviour = R"(
## How it behaves

- **Arm** is a switch, not a push button: opened, it ends the song. It is debounced by 20 ms.
- **Stop** acts at once, within a running burst too. Use a switch that breaks the circuit when pushed.
- After reset, at the end of the song and after every stop the gate is low and the player rests (see above).
  Then arm has to be open, and to be closed again with stop closed, before the song starts. A switch that
  sticks, or was left closed, starts nothing.
- A burst whose rise cannot be made in time, because another interrupt kept the processor, is left out and
  counted (`player_status.missed`); the song goes on in time.
- A burst that a duty window has no room for is left out and counted (`player_status.refused`); a sound table has
  none.
- A table that is damaged, cut, of another version or tick rate, or made for wider limits plays nothing
  (`player_status.state` 5, `player_status.error` tells why: see player/table.h).

)";

// One line a window that the guard keeps.
std::string duty_kept(const CompiledLimits& limits) {
  std::string lines;
  for (const auto& window : limits.windows)
    lines += "  \n... any " + window.limit.name + " at most; of a damaged table, at most " +
             factor_in_words(window.factor) + " that";
  return lines;
}

std::string readme(const Tables& tables, const Target& target) {
  const TableInput& input = tables.made().input();
  const CompiledLimits limits = compiled_limits(input, target);
  const BurstStream& stream = input.stream;
  const TableFit fit = fit_of(tables, target);
  return "# A song for a coil, played by " + target.chip + "\n\nSong: " + in_markdown(input.title) +
         "  \nCoil: " + in_markdown(input.profile.name) + "  \n" +
         whose_limits_in_markdown(input.whose_limits) + "Bursts: " + std::to_string(fit.bursts) + " in " +
         number(stream.seconds(stream.length)) + " s  \n" +
         readme_facts(limits, stream.tick_hz, "rest before it may start (again)",
                      {fit.flash_used, fit.flash_of, fit.ram_used, fit.ram_of}) +
         std::string(kBehaviour);
}

// player/x stays where it is; x of the target's own port, and of the one it shares, becomes port/x, but the
// Makefile and the README come to the top.
std::string place_in_project(std::string_view path, const Target& target) {
  if (path.starts_with("player/")) return std::string(path);
  for (const std::string& port : {target.name, target.shared_port}) {
    const std::string folder = "ports/" + port + "/";
    if (port.empty() || !path.starts_with(folder)) continue;
    const std::string name(path.substr(folder.size()));
    return name == "Makefile" || name == kReadme ? name : "port/" + name;
  }
  return {};
}

}  // namespace

std::string table_detail::readme_facts(const CompiledLimits& limits, std::int64_t tick_hz,
                                       const std::string& rest, const MemoryUse& use) {
  return "Compiled in, whatever the table says: on-time at most " + microseconds(limits.on_max, tick_hz) +
         ", gap at least " + microseconds(limits.gap_min, tick_hz) + ", " + rest + " " +
         seconds_of(limits.rest_ms) + duty_kept(limits) + "  \nFlash: about " +
         std::to_string(use.flash_used) + " of " + std::to_string(use.flash_of) +
         " bytes; RAM with stack: about " + std::to_string(use.ram_used) + " of " +
         std::to_string(use.ram_of) + " bytes\n\n## Cautions\n\n" + paragraphs(kCautions) + "\n" +
         paragraphs(kPolarity);
}

std::vector<FolderFile> table_detail::laid_out(const std::string& header, const std::string& readme,
                                               const std::function<std::string(std::string_view)>& place_of) {
  std::vector<FolderFile> files = {{"burst_table.h", header}, {kReadme, readme}};
  for (const EmbeddedFile& file : embedded_files()) {
    const std::string place = place_of(file.path);
    if (place == kReadme)
      files[1].content += file.content;
    else if (!place.empty())
      files.push_back({place, std::string(file.content)});
  }
  return files;
}

std::vector<FolderFile> table_detail::project_files(const std::string& header, const std::string& readme,
                                                    const Target& target) {
  return laid_out(header, readme, [&](std::string_view path) { return place_in_project(path, target); });
}

std::vector<FolderFile> project(const Tables& tables, const Target& target) {
  return project_files(table_header(tables, target), readme(tables, target), target);
}

}  // namespace burstloom
