#include <algorithm>
#include <array>

#include "burstloom/common/error.hpp"
#include "cautions.hpp"
#include "project_files.hpp"
#include "stream_tables.hpp"
#include "words.hpp"

namespace burstloom {
namespace {

using namespace table_detail;

void require_fit(const TableFit& fit, const Target& target) {
  if (fit.fits()) return;
  throw Error(Fault::outside_limits,
              "the song takes " + std::to_string(fit.flash_used) + " bytes of flash (" +
                  std::to_string(fit.table_bytes) + " of them for " + std::to_string(fit.bursts) +
                  " bursts), but " + target.chip + " has " + std::to_string(fit.flash_of) +
                  " for player and table",
              "",
              "export an excerpt: the first " + number(fit.fits_until_s) + " s would fit (--until " +
                  number(fit.fits_until_s) + ")");
}

std::string word(std::uint32_t value) {
  static constexpr char digits[] = "0123456789ABCDEF";
  std::string text = "0x";
  for (int shift = 28; shift >= 0; shift -= 4) text += digits[value >> shift & 15];
  return text + "UL";
}

// One line a window, for people.
std::string windows_kept(const CompiledLimits& limits) {
  std::string lines;
  for (const GuardWindow& window : limits.windows)
    lines += " * Any " + window.limit.name + " at most; of a damaged table, at most " +
             factor_in_words(window.factor) + " that.\n";
  return lines;
}

std::string origin(const TableInput& input, const Target& target, const CompiledLimits& limits) {
  const BurstStream& stream = input.stream;
  return " * Pulse table made by Burstloom for " + target.chip + ".\n * Song: " + in_comment(input.title) +
         "\n * Coil: " + in_comment(input.profile.name) + "\n" + whose_limits_in_comment(input.whose_limits) +
         " * " + std::to_string(stream.bursts.size()) + " bursts in " +
         number(stream.seconds(stream.length)) + " s. " +
         limits_kept(limits, stream.tick_hz, "rest before the song may start again");
}

std::string definitions(const BurstStream& stream, const CompiledLimits& limits, const Table& table) {
  std::uint32_t crc = 0;
  for (std::size_t i = 0; i < 4; ++i) crc |= static_cast<std::uint32_t>(table.bytes[32 + i]) << 8 * i;
  return define("VERSION", std::to_string(kTableVersion)) +
         define("TICK_HZ", std::to_string(stream.tick_hz) + "UL") +
         define("COUNT", std::to_string(stream.bursts.size()) + "UL") +
         define("BYTES", std::to_string(table.bytes.size()) + "UL") +
         define("ENCODING", std::to_string(static_cast<int>(table.encoding))) +
         (table.voices > 0 ? define("VOICES", std::to_string(table.voices)) : "") +
         define("CRC32", word(crc)) + limit_definitions(limits);
}

// Every byte as "n," with decimals made once: this is all there is to do for most of a header's length.
std::string decimal_bytes(const Bytes& table) {
  constexpr std::size_t kLongest = 4, kBytesALine = 24;
  struct Decimals {
    std::array<char, kLongest> text;
    std::size_t size;
  };
  static const auto decimals = [] {
    std::array<Decimals, 256> all{};
    for (std::size_t i = 0; i < all.size(); ++i) {
      const std::string text = std::to_string(i) + ",";
      text.copy(all[i].text.data(), kLongest);
      all[i].size = text.size();
    }
    return all;
  }();
  std::string text(table.size() * kLongest + table.size() / kBytesALine + 1, '\0');
  char* at = text.data();
  for (std::size_t i = 0; i < table.size(); ++i) {
    const Decimals& it = decimals[table[i]];
    at = std::copy_n(it.text.data(), kLongest, at) - (kLongest - it.size);
    if (i % kBytesALine == kBytesALine - 1 || i + 1 == table.size()) *at++ = '\n';
  }
  text.resize(static_cast<std::size_t>(at - text.data()));
  return text;
}

constexpr std::string_view kStorage = R"(
#if !defined BURST_TABLE_LIMITS_ONLY && !defined BURST_TABLE_DATA
#define BURST_TABLE_DATA
#include <stdint.h>
#ifdef __AVR__
#include <avr/pgmspace.h>
#define BURST_TABLE_FLASH PROGMEM
#define BURST_TABLE_BYTE(at) pgm_read_byte(burst_table + (at))
#else
#define BURST_TABLE_FLASH
#define BURST_TABLE_BYTE(at) (burst_table[at])
#endif
static const uint8_t burst_table[BURST_TABLE_BYTES] BURST_TABLE_FLASH = {
)";

// As player/guard.h wants them; the player says what a window is.
std::string guard_definitions(const CompiledLimits& limits) {
  const auto ticks = [](Tick value) { return std::to_string(value) + "UL"; };
  std::string windows;
  Tick slots = 0;
  for (const GuardWindow& window : limits.windows) {
    windows += " BURST_GUARD_WINDOW(" + ticks(window.slot_ticks) + ", " + ticks(window.limit.allowance) +
               ", " + ticks(window.forget_ticks()) + ", " + std::to_string(window.slots) + ", " +
               std::to_string(slots) + ", " + (window.limit.counts_starts ? "1" : "0") + ")";
    slots += window.slots;
  }
  return "#define BURST_GUARD_STRETCH_TICKS " + ticks(limits.stretch) +
         "\n#define BURST_GUARD_MEMORY_TICKS " + ticks(limits.memory()) + "\n#define BURST_GUARD_SLOTS " +
         std::to_string(slots) + "\n#define BURST_GUARD_WINDOWS" + windows + "\n";
}

}  // namespace

std::string table_detail::define(const char* name, const std::string& value) {
  return std::string("#define BURST_TABLE_") + name + " " + value + "\n";
}

std::string table_detail::limits_kept(const CompiledLimits& limits, std::int64_t tick_hz,
                                      const std::string& rest) {
  return "Limits compiled in: on-time at most " + microseconds(limits.on_max, tick_hz) + ", gap at least " +
         microseconds(limits.gap_min, tick_hz) + ",\n * " + rest + " " + seconds_of(limits.rest_ms) + ".\n" +
         windows_kept(limits);
}

std::string table_detail::limit_definitions(const CompiledLimits& limits) {
  return define("ON_MAX_TICKS", std::to_string(limits.on_max) + "UL") +
         define("GAP_MIN_TICKS", std::to_string(limits.gap_min) + "UL") +
         define("REST_MS", std::to_string(limits.rest_ms) + "UL") + guard_definitions(limits);
}

std::string table_detail::header_text(const std::string& about, const std::string& definitions,
                                      const Bytes& table) {
  return "/*\n" + about + " *\n" + comment_lines(kCautions) + " *\n" + comment_lines(kPolarity) + " */\n" +
         "#ifndef BURST_TABLE_H\n#define BURST_TABLE_H\n" + definitions + "#endif\n" + std::string(kStorage) +
         decimal_bytes(table) + "};\n#endif\n";
}

std::string table_header(const Tables& tables, const Target& target) {
  StreamTables& made = tables.made();
  const TableInput& input = made.input();
  const CompiledLimits limits = compiled_limits(input, target);
  made.require_playable(target, limits);
  require_fit(table_detail::fit_of(made, target, limits), target);
  const Table table = made.smallest_table(target, limits);
  return header_text(origin(input, target, limits), definitions(input.stream, limits, table), table.bytes);
}

}  // namespace burstloom
