#include <cmath>

#include "burstloom/common/error.hpp"
#include "stream_tables.hpp"

namespace burstloom {
namespace {

using namespace table_detail;

TableInput first_part(const TableInput& input, Tick until) {
  TableInput part = input;
  part.stream = excerpt(input.stream, 0, until);
  part.account = excerpt(input.account, input.stream, 0, until);
  return part;
}

// The longest part from the start that fits, to a hundredth of the song: found by halving, as a table's size
// grows with its song.
double fits_until(const TableInput& input, const Target& target, const CompiledLimits& limits) {
  constexpr int kParts = 128;
  int fits = 0, too_long = kParts;
  const auto end_of = [&](int part) { return input.stream.length / kParts * part; };
  while (too_long - fits > 1) {
    const int part = (fits + too_long) / 2;
    const TableInput first = first_part(input, end_of(part));
    const bool is_in = StreamTables(first).fit(target, limits);
    (is_in ? fits : too_long) = part;
  }
  return std::floor(input.stream.seconds(end_of(fits)) * 100) / 100;
}

}  // namespace

const char* name_of(Encoding encoding) {
  constexpr const char* kNames[] = {"pairs", "voices", "directory"};
  return kNames[static_cast<std::size_t>(encoding)];
}

Tables::Tables(const TableInput& input) : made_(std::make_unique<StreamTables>(input)) {}
Tables::~Tables() = default;

TableFit table_detail::fit_of(StreamTables& tables, const Target& target, const CompiledLimits& limits) {
  const TableInput& input = tables.input();
  const Measured& it = tables.smallest(target, limits);
  TableFit fit;
  fit.bursts = static_cast<std::int64_t>(input.stream.bursts.size());
  fit.table_bytes = it.table_bytes;
  fit.encoding = it.encoding;
  fit.flash_used = it.flash_bytes;
  fit.flash_of = target.flash_bytes;
  fit.ram_used = it.ram_bytes;
  fit.ram_of = target.ram_bytes;
  fit.fits_until_s =
      fit.fits() ? input.stream.seconds(input.stream.length) : fits_until(input, target, limits);
  return fit;
}

TableFit fit_of(const Tables& tables, const Target& target) {
  return table_detail::fit_of(tables.made(), target, compiled_limits(tables.made().input(), target));
}

bool can_hold(const Target& target, const Tables& tables) {
  StreamTables& made = tables.made();
  try {
    const CompiledLimits limits = compiled_limits(made.input(), target);
    if (!made.fit(target, limits)) return false;
    made.require_playable(target, limits);
    return true;
  } catch (const Error&) {
    return false;  // too quick for the chip, or limits that its player cannot keep
  }
}

}  // namespace burstloom
