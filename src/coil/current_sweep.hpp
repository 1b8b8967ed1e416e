// The model walked once through a long burst; at each on-time of interest a copy rings down.
#pragma once

#include <vector>

#include "burstloom/coil/circuit.hpp"
#include "burstloom/coil/current_table.hpp"

namespace burstloom::current {

/// What a burst begins with.
enum class Start {
  rest,
  /// The most that a burst before can have left after the shortest gap. A series-resonant tank: charged to
  /// the drive's volts (blocking diodes hold no more), pushing with the drive; what still oscillates is in
  /// the rows' `residual_a`. Others: as the longest burst and the shortest gap leave it.
  carried,
};

/// On-times (us) worth a row: from an eighth of the fastest cycle to `longest_us` or 5000 cycles, by eighths, later by 4 and 10 %.
[[nodiscard]] std::vector<double> on_times_us(const Circuit& circuit, double longest_us);

/// A row for each of the on-times (rising), at `drive_v` volts across the primary. `gap_us` is the shortest
/// silence after a burst.
[[nodiscard]] std::vector<CurrentRow> sweep(const Circuit& circuit, double drive_v,
                                            const std::vector<double>& on_us, double gap_us, Start start);

}  // namespace burstloom::current
