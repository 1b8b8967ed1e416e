// Several songs as one image for a chip.
#pragma once

#include "burstloom/tables/tables.hpp"
#include "in_a_row.hpp"

namespace burstloom::command {

struct SetExport {
  std::vector<std::string> paths;
  std::vector<double> pauses_s;
  CoilChoice coil;
  CaptureOptions capture;
  std::string format, target, out;
  bool json = false, force = false;
};

/// Judges, exports, and says what was written. Throws Error.
void export_set(const SetExport& wanted);

/// The song as the room `tables` takes it.
[[nodiscard]] TableInput table_input(SongInARow song);

}  // namespace burstloom::command
