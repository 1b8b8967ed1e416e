// Streams as CSV: microseconds as exact decimals, read and written with whole numbers only.
#include <array>
#include <charconv>
#include <optional>

#include "block_readers.hpp"
#include "burstloom/common/error.hpp"
#include "gate_trace.hpp"

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
    out.push_back(static_cast<char>('0' + rest / tick_hz));  // cppcheck-suppress zerodivcond ; `rest` is none
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
  Reader(const std::string& name, BurstSink& sink) : name_(name), sink_(sink) {}

  StreamTail read(const TextSource& source) {
    text_ = source(is_line_end);
    if (text_.starts_with("\xEF\xBB\xBF")) text_.remove_prefix(3);  // UTF-8 byte order mark
    for (; !text_.empty(); text_ = source(is_line_end))
      while (!text_.empty()) {
        if (header_seen_) take_rows();
        if (!text_.empty()) take_line(trimmed(next_line()));
      }
    if (!header_seen_) {
      ++line_;
      if (tick_hz_ == 0) no_rate();
      refuse("the file holds no bursts, not even the header 'start_us,on_us'", "write that line before them");
    }
    out_->flush();
    return {.length = end_, .capture = {}};
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
    if (tick_hz_ == 0) no_rate();
    if (header_seen_) return take_row(line);
    if (line != kHeader)
      refuse("'" + printable(std::string(line)) + "' stands where the header belongs",
             "write 'start_us,on_us' before the bursts");
    header_seen_ = true;
    out_.emplace(StreamHead{.tick_hz = tick_hz_, .capture = {}, .profile = {}}, sink_);
  }

  // Rows as they are written mostly: digits, a comma, digits, a line's end. Stops before the first that is
  // anything else, which take_row looks at closely.
  void take_rows() {
    const char* at = text_.data();
    const char* const end = at + text_.size();
    for (Burst burst; const char* const next = plain_row(at, end, burst); at = next) {
      ++line_;
      end_ = burst.end();
      out_->take(burst);
    }
    text_ = {at, static_cast<std::size_t>(end - at)};
  }

  [[nodiscard]] const char* plain_row(const char* at, const char* end, Burst& burst) const {
    at = plain_ticks(at, end, ',', burst.start);
    if (at == nullptr || burst.start < end_) return nullptr;
    at = plain_ticks(at, end, '\n', burst.on);
    return at == nullptr || burst.on == 0 || burst.on >= kEndOfTime - burst.start ? nullptr : at;
  }

  // Reads a decimal up to `stop` with at most 14 digits, of which at most four are decimals; returns what
  // follows it.
  [[nodiscard]] const char* plain_ticks(const char* at, const char* end, char stop, Tick& ticks) const {
    constexpr std::int64_t kMostDigits = 14, kMostDecimals = 4;
    constexpr std::array<std::int64_t, 5> kPart{kMicroseconds, kMicroseconds * 10LL, kMicroseconds * 100LL,
                                                kMicroseconds * 1000LL, kMicroseconds * 10'000LL};
    const char* const start = at;
    end = at + std::min<std::ptrdiff_t>(end - at, kMostDigits + 1);  // the stop included: nothing overflows
    std::int64_t value = 0;
    for (; at != end && is_digit(*at); ++at) value = value * 10 + (*at - '0');
    std::size_t decimals = 0;
    if (at != end && *at == '.' && at != start) {
      const char* const point = at++;
      for (; at != end && is_digit(*at); ++at) value = value * 10 + (*at - '0');
      decimals = static_cast<std::size_t>(at - point - 1);
      if (decimals == 0 || decimals > kMostDecimals) return nullptr;
    }
    if (at == end || *at != stop || at == start) return nullptr;
    // Seconds apart, so that nothing overflows: the value is under 10^14, the rate at most 10^8.
    const std::int64_t second = kPart[decimals];
    const std::int64_t rest = value % second * tick_hz_;
    if (rest % second != 0) return nullptr;
    ticks = value / second * tick_hz_ + rest / second;
    return ticks < kEndOfTime ? at + 1 : nullptr;
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
    if (tick_hz_ != 0 && tick_hz_ != rate)
      refuse("a second tick rate, " + std::to_string(rate) + " Hz, contradicts the first",
             "keep the one that is right");
    tick_hz_ = rate;
    too_late_us_ = (static_cast<std::uint64_t>(kEndOfTime / rate) + 1) * kMicroseconds;
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
    out_->take({start, on});
  }

  // A decimal number of microseconds as ticks; it must be a whole number of them.
  [[nodiscard]] Tick ticks(std::string_view decimal, const char* which) const {
    std::size_t at = 0;
    // The check after each digit keeps it under 2^60 or so: ten times as much and a digit fit in 64 bits.
    std::uint64_t whole = 0;
    for (; at < decimal.size() && is_digit(decimal[at]); ++at) {
      whole = whole * 10 + static_cast<std::uint64_t>(decimal[at] - '0');
      if (whole >= too_late_us_)
        refuse(quoted(which, decimal) + " is later than a stream may last", "give times in microseconds");
    }
    std::string_view fraction = decimal.substr(at);
    if (at > 0 && fraction.size() > 1 && fraction.front() == '.') fraction.remove_prefix(1);
    for (const char c : fraction)
      if (!is_digit(c) || at == 0) not_decimal(which, decimal);
    if (at == 0) not_decimal(which, decimal);
    const auto part = fraction_times_rate(fraction);
    const auto seconds = static_cast<Tick>(whole / kMicroseconds);
    const std::int64_t scaled = static_cast<Tick>(whole % kMicroseconds) * tick_hz_ + part.value_or(0);
    if (!part || scaled % kMicroseconds != 0)
      refuse(
          quoted(which, decimal) + " µs is no whole number of ticks of 1/" + std::to_string(tick_hz_) + " s",
          "round it to a tick, or give the tick rate it was made for");
    const Tick result = seconds * tick_hz_ + scaled / kMicroseconds;
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
      sum += (*digit - '0') * tick_hz_;
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

  static bool is_line_end(char c) { return c == '\n'; }

  std::string_view text_;
  const std::string& name_;
  BurstSink& sink_;
  std::optional<BlockOut> out_;
  std::int64_t tick_hz_ = 0;
  std::uint64_t too_late_us_ = 0;  // whole seconds past the end of time
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

StreamTail read_csv(const TextSource& source, const std::string& name, BurstSink& sink) {
  return Reader(name, sink).read(source);
}

BurstStream from_csv(std::string_view text, const std::string& name) {
  WholeStream whole;
  whole.stream.length = read_csv(all_at_once(text), name, whole).length;
  return std::move(whole.stream);
}

}  // namespace burstloom
