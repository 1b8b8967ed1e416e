// Streams as CSV: microseconds as exact decimals, read and written with whole numbers only.
#include <array>
#include <charconv>
#include <optional>

#include "burstloom/common/error.hpp"
#include "burstloom/stream/files.hpp"

namespace burstloom {
namespace {

constexpr int kMicroseconds = 1'000'000;  // in a second
constexpr std::string_view kHeader = "start_us,on_us";
constexpr std::string_view kRateMark = "tick_hz=";

// ---- writing

// A decimal ends when the denominator has no prime factors but 2 and 5. 10^6 brings no others, so those of
// tick_hz decide.
bool has_finite_decimals(std::int64_t tick_hz) {
  for (const std::int64_t factor : {2, 5})
    while (tick_hz % factor == 0) tick_hz /= factor;
  return tick_hz == 1;
}

void append_integer(std::string& out, std::int64_t value) {
  std::array<char, 24> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
  out.append(digits.data(), end);
}

// Whole microseconds, then long division for as many digits as there are.
void append_us(std::string& out, Tick ticks, std::int64_t tick_hz) {
  const std::int64_t scaled = ticks % tick_hz * kMicroseconds;
  append_integer(out, ticks / tick_hz * kMicroseconds + scaled / tick_hz);
  std::int64_t rest = scaled % tick_hz;
  if (rest != 0) out.push_back('.');
  while (rest != 0) {
    rest *= 10;
    out.push_back(static_cast<char>('0' + rest / tick_hz));
    rest %= tick_hz;
  }
}

// ---- reading

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

std::string_view trimmed(std::string_view text) {
  const auto is_blank = [](char c) { return c == ' ' || c == '\t' || c == '\r'; };
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back())) text.remove_suffix(1);
  return text;
}

class Reader {
 public:
  Reader(std::string_view text, const std::string& name) : text_(text), name_(name) {}

  BurstStream read() {
    if (text_.starts_with("\xEF\xBB\xBF")) text_.remove_prefix(3);  // UTF-8 byte order mark
    while (!text_.empty()) take_line(trimmed(next_line()));
    if (!header_seen_) {
      ++line_;
      if (stream_.tick_hz == 0) no_rate();
      refuse("the file holds no bursts, not even the header 'start_us,on_us'", "write that line before them");
    }
    stream_.length = end_;
    return std::move(stream_);
  }

 private:
  [[noreturn]] void refuse(const std::string& what, const std::string& what_to_do) const {
    throw bad_input(what, printable(name_, 200) + ", line " + std::to_string(line_), what_to_do);
  }
  [[noreturn]] void no_rate() const {
    refuse("no line says how long a tick is",
           "add '# tick_hz=2000000' (or the rate you use) as the first line");
  }

  std::string_view next_line() {
    ++line_;
    const std::size_t end = text_.find('\n');
    const std::string_view line = text_.substr(0, end);
    text_.remove_prefix(end == std::string_view::npos ? text_.size() : end + 1);
    return line;
  }

  void take_line(std::string_view line) {
    if (line.empty()) return;
    if (line.front() == '#') return take_remark(trimmed(line.substr(1)));
    if (stream_.tick_hz == 0) no_rate();
    if (header_seen_) return take_row(line);
    if (line != kHeader)
      refuse("'" + printable(std::string(line)) + "' stands where the header belongs",
             "write 'start_us,on_us' before the bursts");
    header_seen_ = true;
  }

  void take_remark(std::string_view remark) {
    if (!remark.starts_with(kRateMark)) return;
    const std::string_view digits = remark.substr(kRateMark.size());
    std::int64_t rate = 0;
    const auto [end, problem] = std::from_chars(digits.data(), digits.data() + digits.size(), rate);
    if (problem != std::errc{} || end != digits.data() + digits.size() || rate < kLowestTickHz ||
        rate > kHighestTickHz)
      refuse("'" + printable(std::string(digits)) + "' is no tick rate",
             "give a whole number of Hz from 1000 to 100000000");
    if (stream_.tick_hz != 0 && stream_.tick_hz != rate)
      refuse("a second tick rate, " + std::to_string(rate) + " Hz, contradicts the first",
             "keep the one that is right");
    stream_.tick_hz = rate;
  }

  void take_row(std::string_view row) {
    const std::size_t comma = row.find(',');
    if (comma == std::string_view::npos || row.find(',', comma + 1) != std::string_view::npos)
      refuse("'" + printable(std::string(row)) + "' is not two numbers",
             "write start and on-time, one comma between");
    const Tick start = ticks(trimmed(row.substr(0, comma)), "the start");
    const Tick on = ticks(trimmed(row.substr(comma + 1)), "the on-time");
    if (on == 0) refuse("the on-time is 0", "leave the row out");
    if (start < end_)
      refuse("the burst starts before the one above it ends", "sort the rows and part the bursts");
    if (on >= kEndOfTime - start) refuse("the burst ends later than a stream may last", "give earlier times");
    end_ = start + on;
    stream_.bursts.push_back({start, on});
  }

  // A decimal number of microseconds as ticks; it must be a whole number of them.
  [[nodiscard]] Tick ticks(std::string_view decimal, const char* which) const {
    std::size_t at = 0;
    // The check after each digit keeps it under 2^60 or so: ten times as much and a digit fit in 64 bits.
    std::uint64_t whole = 0;
    for (; at < decimal.size() && is_digit(decimal[at]); ++at) {
      whole = whole * 10 + static_cast<std::uint64_t>(decimal[at] - '0');
      if (whole / kMicroseconds > static_cast<std::uint64_t>(kEndOfTime / stream_.tick_hz))
        refuse(quoted(which, decimal) + " is later than a stream may last", "give times in microseconds");
    }
    std::string_view fraction = decimal.substr(at);
    if (at > 0 && fraction.size() > 1 && fraction.front() == '.') fraction.remove_prefix(1);
    for (const char c : fraction)
      if (!is_digit(c) || at == 0) not_decimal(which, decimal);
    if (at == 0) not_decimal(which, decimal);
    const auto part = fraction_times_rate(fraction);
    const auto seconds = static_cast<Tick>(whole / kMicroseconds);
    const std::int64_t scaled = static_cast<Tick>(whole % kMicroseconds) * stream_.tick_hz + part.value_or(0);
    if (!part || scaled % kMicroseconds != 0)
      refuse(quoted(which, decimal) + " us is no whole number of ticks of 1/" +
                 std::to_string(stream_.tick_hz) + " s",
             "round it to a tick, or give the tick rate it was made for");
    const Tick result = seconds * stream_.tick_hz + scaled / kMicroseconds;
    if (result >= kEndOfTime)
      refuse(quoted(which, decimal) + " is later than a stream may last", "give times in microseconds");
    return result;
  }

  // 0.fraction times tick_hz, when that is whole. From the last digit on, every step must divide by ten
  // without a remainder: the digits further left only add whole multiples of tick_hz, they cannot make up for
  // one.
  [[nodiscard]] std::optional<std::int64_t> fraction_times_rate(std::string_view fraction) const {
    std::int64_t sum = 0;
    for (auto digit = fraction.rbegin(); digit != fraction.rend(); ++digit) {
      sum += (*digit - '0') * stream_.tick_hz;
      if (sum % 10 != 0) return std::nullopt;
      sum /= 10;
    }
    return sum;
  }

  static std::string quoted(const char* which, std::string_view decimal) {
    return std::string(which) + " '" + printable(std::string(decimal)) + "'";
  }
  [[noreturn]] void not_decimal(const char* which, std::string_view decimal) const {
    refuse(quoted(which, decimal) + " is no decimal number of microseconds", "write it like 1234.5");
  }

  std::string_view text_;
  const std::string& name_;
  BurstStream stream_{0, 0, {}};
  Tick end_ = 0;
  std::int64_t line_ = 0;
  bool header_seen_ = false;
};

}  // namespace

std::string to_csv(const BurstStream& stream) {
  require_in_order(stream, "the stream to be written");
  if (!has_finite_decimals(stream.tick_hz))
    throw Error(Fault::usage,
                "a tick of 1/" + std::to_string(stream.tick_hz) + " s has no finite decimal in microseconds",
                "", "weave with another tick rate, 2000000 Hz for one, or write a .burst file");
  std::string out = "# tick_hz=" + std::to_string(stream.tick_hz) + "\n" + std::string(kHeader) + "\n";
  out.reserve(out.size() + stream.bursts.size() * 16);
  for (const Burst& burst : stream.bursts) {
    append_us(out, burst.start, stream.tick_hz);
    out.push_back(',');
    append_us(out, burst.on, stream.tick_hz);
    out.push_back('\n');
  }
  return out;
}

BurstStream from_csv(std::string_view text, const std::string& name) {
  return Reader(text, name).read();
}

}  // namespace burstloom
