#include <algorithm>

#include "encode.hpp"

namespace burstloom {

TableFit fit_of(const TableInput& input, const Target& target) {
  const BurstStream& stream = input.stream;
  const auto ends = table_detail::bytes_until_burst(stream);
  TableFit fit;
  fit.bursts = static_cast<std::int64_t>(ends.size());
  fit.table_bytes = ends.empty() ? static_cast<std::int64_t>(table_detail::kTableHeaderBytes) : ends.back();
  const auto windows = table_detail::compiled_limits(input, target).windows;
  const std::int64_t player_flash = target.player_flash_bytes + table_detail::guard_flash(windows);
  fit.flash_used = player_flash + fit.table_bytes;
  fit.flash_of = target.flash_bytes;
  fit.ram_used = target.player_ram_bytes + table_detail::guard_ram(windows);
  fit.ram_of = target.ram_bytes;
  const std::int64_t room = target.flash_bytes - player_flash;
  const auto first_out = std::upper_bound(ends.begin(), ends.end(), room) - ends.begin();
  if (static_cast<std::size_t>(first_out) == ends.size()) {
    fit.fits_until_s = stream.seconds(stream.length);
  } else if (first_out > 0) {
    fit.fits_until_s = stream.seconds(stream.bursts[static_cast<std::size_t>(first_out) - 1].end());
  }
  return fit;
}

}  // namespace burstloom
