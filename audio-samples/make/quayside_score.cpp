// An evening at a small harbour workshop: the lanterns are lit one by one along the quay (a waltz in D
// minor), the boats come home (F major), everybody stands still for the last light (a chorale), then the
// waltz goes on.
#include "quayside_score.hpp"

namespace samples {

const std::vector<Section>& quayside_sections() {
  static const std::vector<Section> sections = {
      // The first lanterns: eight bars that end open, on the dominant.
      {108,
       72,
       84,
       0.55,
       false,
       false,
       {"D5*2 E5 | F5 E5 D5 | E5*2 C5 | A4*3 | F5*2 G5 | E5 G5 E5 | D5 Bb4 G4 | A4*2 _",
        "_ A4 A4 | _ A4 A4 | _ G4 G4 | _ E4 E4 | _ A4 A4 | _ G4 G4 | _ D4 D4 | _ E4 E4",
        "_ F4 F4 | _ D4 D4 | _ E4 E4 | _ C4 C4 | _ C4 C4 | _ E4 E4 | _ Bb3 Bb3 | _ C#4 C#4",
        "D3*3 | F3*3 | C3*3 | A2*3 | F2*3 | C3*3 | G2*2 Bb2 | A2*3"}},
      // The answer, which closes.
      {108,
       80,
       88,
       0.55,
       false,
       false,
       {"D5*2 E5 | F5 E5 D5 | E5*2 C5 | A4*2 C5 | D5*2 F5 | D5 Bb4 D5 | C#5*2 E5 | D5*3",
        "_ A4 A4 | _ A4 A4 | _ G4 G4 | _ E4 E4 | _ F4 F4 | _ G4 G4 | _ G4 G4 | F4*3",
        "_ F4 F4 | _ D4 D4 | _ E4 E4 | _ C4 C4 | _ D4 D4 | _ D4 D4 | _ E4 E4 | A3*3",
        "D3*3 | D3*2 F3 | C3*3 | A2*3 | Bb2*3 | G2*3 | A2*2 G2 | D2*2 D3"}},
      // The boats: brighter, rising, the inner voice in a wash of pedal.
      {108,
       76,
       112,
       0.95,
       true,
       true,
       {"C5 F5 A5 | Bb5*2 A5 | G5 E5 G5 | F5*2 C5 | D5 F5 A5 | G5*2 F5 | E5 F5 G5 | E5*2 C#5",
        "_ A4 F4 | _ F4 D4 | _ G4 E4 | _ A4 F4 | _ A4 F4 | _ Bb4 G4 | _ G4 E4 | _ G4 E4",
        "C4*3 | Bb3*3 | C4*3 | A3*3 | A3*3 | Bb3*3 | C4*3 | C#4*3",
        "F2*2 C3 | Bb2*2 D3 | C3*2 G2 | F2*2 A2 | D3*2 A2 | G2*2 Bb2 | C3*2 Bb2 | A2*3"}},
      // The last light: four voices close together, so that their bursts meet all the time.
      {92,
       64,
       104,
       0.97,
       false,
       false,
       {"F5*2 D5 | C5*2 F5 | D5*2 Bb4 | A4*3 | D5 F5*2 | E5*2 D5 | E5*3 | D5*3",
        "D5*2 Bb4 | A4*2 C5 | Bb4*2 G4 | F4*3 | Bb4 D5*2 | Bb4*3 | D5*2 C#5 | A4*3",
        "Bb4*2 F4 | F4*2 A4 | G4*2 D4 | D4*3 | F4 Bb4*2 | G4*3 | A4*3 | F#4*3",
        "Bb2*3 | A2*3 | G2*3 | D3*2 C3 | Bb2*3 | E3*2 G3 | A2*3 | D3*3"}},
      // The waltz again, louder.
      {108,
       96,
       116,
       0.6,
       false,
       true,
       {"D5*2 E5 | F5 E5 D5 | E5*2 C5 | A4*2 C5 | D5*2 F5 | D5 Bb4 D5 | C#5*2 E5 | F5*2 A5",
        "_ A4 A4 | _ A4 A4 | _ G4 G4 | _ E4 E4 | _ F4 F4 | _ G4 G4 | _ G4 G4 | _ A4 C5",
        "_ F4 F4 | _ D4 D4 | _ E4 E4 | _ C4 C4 | _ D4 D4 | _ D4 D4 | _ E4 E4 | _ F4 F4",
        "D3*3 | D3*2 F3 | C3*3 | A2*3 | Bb2*3 | G2*3 | A2*3 | D3*2 C3"}},
      // Lights out, slower, down to an open fifth and third.
      {80,
       92,
       48,
       0.97,
       false,
       false,
       {"Bb5*2 G5 | E5 C#5 E5 | D5*3 | D5*3", "_ G4 Bb4 | _ G4 A4 | F4*3 | A4*3",
        "_ D4 D4 | _ E4 E4 | A3*3 | F4*3", "G2*3 | A2*3 | D3*3 | D2*3"}},
  };
  return sections;
}

}  // namespace samples
