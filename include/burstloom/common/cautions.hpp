// What stands in everything that leaves for the bench: headers, projects, reports.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace burstloom {

/// Lines of at most 92 columns; "" parts paragraphs.
inline constexpr std::string_view kCautions[] = {
    "A Tesla coil can kill. Mains and the bus behind it are lethal, and the bus capacitors stay",
    "charged after the plug is out. The spark is no harmless one: high voltage, and",
    "radio-frequency currents that burn deep. It makes ozone and nitrogen oxides (air the room),",
    "noise that harms hearing, and fire: keep what burns away and an extinguisher at hand. Nobody",
    "with a pacemaker, hearing aid, insulin pump or other implant or medical device may come",
    "near. Its fields disturb and destroy electronics. Keep people and animals at a distance and",
    "never work on it alone.",
    "",
    "Follow your local codes, on radio interference too, and leave work that wants a licence to",
    "those who hold one. The figures here are a prediction from a profile that somebody wrote: a",
    "prediction is no permission. Try the gate signal on an oscilloscope before the bus is on,",
    "then with a low bus, from a distance.",
};

/// The same, a line a paragraph.
[[nodiscard]] std::vector<std::string> caution_paragraphs();

}  // namespace burstloom
