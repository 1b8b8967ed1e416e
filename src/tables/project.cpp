#include <algorithm>

#include "burstloom/common/error.hpp"
#include "cautions.hpp"
#include "embedded.hpp"
#include "encode.hpp"
#include "words.hpp"

namespace burstloom {
namespace {

using table_detail::in_markdown;
using table_detail::number;
using table_detail::paragraphs;

constexpr std::string_view kWiring = R"(
## Wiring

| pin | chip (PDIP) | use |
|---|---|---|
| PB1 (OC1A) | 15 | gate output, active high, **pull-down of 1 to 10 kOhm to ground outside** |
| PD4 | 6 | arm input: closed to ground = armed, open = disarmed (pull-up inside) |
| PD5 | 11 | stop input: closed to ground = may run, open = stop (pull-up inside) |
| GND | 8, 22 | ground of the switches and of the gate driver's input |

The chip runs from a crystal or resonator of 16 MHz (the internal oscillator is far too inexact). Set the
brown-out detector (2.7 V or 4.3 V) by the fuses. Near a coil, give both inputs 1 kOhm in series and 100 nF to
ground at the pin; better still, take gate and inputs through optical fibre.

- **Arm** is a switch, not a push button: opened, it ends the song. It is debounced by 20 ms.
- **Stop** acts at once, within a running burst too. Use a switch that breaks the circuit when pushed.
- After reset, at the end of the song and after every stop the gate is low and the player rests (see above).
  Then arm has to be open, and to be closed again with stop closed, before the song starts. A switch that
  sticks, or was left closed, starts nothing.
- A burst whose rise cannot be made in time, because another interrupt kept the processor, is left out and
  counted (`player_status.missed`); the song goes on in time.
- A table that is damaged, cut, of another version or tick rate, or made for wider limits plays nothing
  (`player_status.state` 5, `player_status.error` tells why: see player/table.h).
- The watchdog (32 ms) resets the chip if the program hangs: pin low, disarmed.

## Build and load

    make            # player.hex; needs avr-gcc and avr-libc
    make size       # flash and RAM used
    make load PROGRAMMER=arduino LOAD_PORT=/dev/ttyUSB0    # needs avrdude

If you add code of your own: leave Timer1 alone, and keep interrupts off for less than 10 ms at a time. The player
keeps them off around each burst itself, from at most 75 us before its rise to its fall.
)";

std::string readme(const TableInput& input, const Target& target) {
  const auto limits = table_detail::compiled_limits(input, target);
  const BurstStream& stream = input.stream;
  const TableFit fit = fit_of(input, target);
  const auto us = [&](Tick ticks) { return number(stream.microseconds(ticks)) + " us"; };
  return "# A song for a coil, played by " + target.chip + "\n\nSong: " + in_markdown(input.title) +
         "  \nCoil: " + in_markdown(input.profile.name) + "  \nBursts: " + std::to_string(fit.bursts) +
         " in " + number(stream.seconds(stream.length)) +
         " s  \nCompiled in, whatever the table says: on-time at most " + us(limits.on_max) +
         ", gap at least " + us(limits.gap_min) + ", rest before it may start (again) " +
         number(static_cast<double>(limits.rest_ms) / 1000) + " s  \nFlash: about " +
         std::to_string(fit.flash_used) + " of " + std::to_string(fit.flash_of) +
         " bytes; RAM with stack: about " + std::to_string(fit.ram_used) + " of " +
         std::to_string(fit.ram_of) + " bytes\n\n## Cautions\n\n" + paragraphs(kCautions) + "\n" +
         paragraphs(table_detail::kPolarity) + std::string(kWiring);
}

// player/x stays where it is, ports/<target>/x becomes port/x, the port's Makefile comes to the top.
std::string place_in_project(std::string_view path, const std::string& port) {
  if (path.starts_with("player/")) return std::string(path);
  if (!path.starts_with(port)) return {};
  const std::string name(path.substr(port.size()));
  return name == "Makefile" ? name : "port/" + name;
}

}  // namespace

std::vector<FolderFile> project(const TableInput& input, const Target& target) {
  std::vector<FolderFile> files = {{"burst_table.h", table_header(input, target)},
                                   {"README.md", readme(input, target)}};
  const std::string port = "ports/" + target.name + "/";
  for (const EmbeddedFile& file : embedded_files()) {
    const std::string place = place_in_project(file.path, port);
    if (!place.empty()) files.push_back({place, std::string(file.content)});
  }
  return files;
}

}  // namespace burstloom
