// Captures from VCD (IEEE 1364-2005 clause 18).
#include <algorithm>
#include <charconv>
#include <optional>

#include "block_readers.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/stream/files.hpp"
#include "gate_trace.hpp"
#include "vcd_time.hpp"
#include "vcd_wires.hpp"

namespace burstloom {
namespace {

constexpr bool is_blank(char c) {
  return c == ' ' || (c >= '\t' && c <= '\r');
}

// The words of a text, which white space parts, with the line of each. A word lasts until the next one is
// asked for.
class Words {
 public:
  explicit Words(TextSource source) : source_(std::move(source)) {}

  /// Empty at the end of the text.
  std::string_view next() {
    do {
      while (at_ != end_ && is_blank(*at_)) line_ += *at_++ == '\n' ? 1 : 0;
    } while (at_ == end_ && refill());
    const char* const start = at_;
    while (at_ != end_ && !is_blank(*at_)) ++at_;
    return {start, static_cast<std::size_t>(at_ - start)};
  }

  [[nodiscard]] std::int64_t line() const { return line_; }

 private:
  bool refill() {
    const std::string_view block = source_(is_blank);
    at_ = block.data();
    end_ = at_ + block.size();
    return !block.empty();
  }

  TextSource source_;
  const char *at_ = nullptr, *end_ = nullptr;
  std::int64_t line_ = 1;
};

class Reader {
 public:
  Reader(TextSource source, const std::string& name, const CaptureOptions& options, bool trust_mark)
      : words_(std::move(source)), name_(name), options_(options), trust_mark_(trust_mark) {}

  StreamTail read(BurstSink& sink) {
    read_declarations();
    if (!exponent_) refuse("there is no $timescale", "export the capture again, with a timescale");
    gate_ = wires_.choose(options_.wire, name_);
    trace_.emplace(scale(), sink);
    read_changes();
    return end_trace();
  }

 private:
  [[noreturn]] void refuse(const std::string& what, const std::string& what_to_do) const {
    throw bad_input(what, printable(name_, 200) + ", line " + std::to_string(words_.line()), what_to_do);
  }
  [[noreturn]] void cut_off(const std::string& within) const {
    refuse("the file is cut off within " + within, "copy or capture it again");
  }
  static std::string quoted(std::string_view word) { return "'" + printable(std::string(word)) + "'"; }

  // ---- declarations

  void read_declarations() {
    for (;;) {
      const std::string word(words_.next());
      if (word.empty()) cut_off("its declarations");
      if (word == "$enddefinitions") return (void)section(word);
      if (word == "$scope")
        read_scope(word);
      else if (word == "$upscope")
        leave_scope(word);
      else if (word == "$var")
        read_wire(word);
      else if (word == "$timescale")
        read_timescale(word);
      else if (word == "$comment")
        read_comment(word);
      else if (word.front() == '$')
        (void)section(word);
      else
        refuse(quoted(word) + " stands where declarations belong", "give a VCD file (IEEE 1364)");
    }
  }

  // The words up to $end, each parted from the next by one blank; at most `kKept` characters of them.
  std::string section(std::string_view keyword) {
    constexpr std::size_t kKept = 200;
    std::string content;
    for (;;) {
      const std::string_view word = words_.next();
      if (word.empty()) cut_off(std::string(keyword));
      if (word == "$end") return content;
      if (content.size() > kKept) continue;
      if (!content.empty()) content += ' ';
      content += word.substr(0, kKept);
    }
  }

  std::string word_of(std::string_view keyword) {
    const std::string_view word = words_.next();
    if (word.empty()) cut_off(std::string(keyword));
    if (word == "$end") refuse(std::string(keyword) + " ends too early", "capture the file again");
    return std::string(word);
  }

  void read_scope(std::string_view keyword) {
    (void)word_of(keyword);  // module, task, ...
    wires_.enter_scope(word_of(keyword));
    (void)section(keyword);
  }

  void leave_scope(std::string_view keyword) {
    if (!wires_.leave_scope()) refuse("$upscope stands outside of any scope", "capture the file again");
    (void)section(keyword);
  }

  void read_wire(std::string_view keyword) {
    const std::string type = word_of(keyword);
    const std::string size = word_of(keyword);
    vcd::Wire wire;
    wire.id = word_of(keyword);
    wire.name = word_of(keyword);
    wire.one_bit = size == "1" && !type.starts_with("real");
    for (std::string_view word = words_.next(); word != "$end"; word = words_.next()) {
      if (word.empty()) cut_off(std::string(keyword));
      wire.select = word;
    }
    const std::size_t bracket = wire.name.find('[');  // "gate[0]" in one word
    if (wire.select.empty() && bracket != std::string::npos && bracket > 0 && wire.name.front() != '\\') {
      wire.select = wire.name.substr(bracket);
      wire.name.resize(bracket);
    }
    wires_.add(std::move(wire));
  }

  void read_timescale(std::string_view keyword) {
    std::string scale = section(keyword);
    std::erase(scale, ' ');
    for (int exponent = 0; exponent <= vcd::kCoarsest; ++exponent)
      if (scale == std::to_string(vcd::power_of_ten(exponent % 3)) +
                       std::string(vcd::kUnitNames[static_cast<std::size_t>(exponent / 3)]))
        exponent_ = exponent;
    if (!exponent_)
      refuse(quoted(scale) + " is no timescale", "give 1, 10 or 100 of s, ms, us, ns, ps or fs");
  }

  void read_comment(std::string_view keyword) {
    const auto mark = find_exact_mark(section(keyword));
    if (mark) mark_ = mark;
  }

  // ---- value changes

  void read_changes() {
    latest_ = vcd::latest(*exponent_);
    bool in_block = false;
    for (std::string_view word = words_.next(); !word.empty(); word = words_.next()) {
      switch (word.front()) {
        case '0':
        case '1':
        case 'x':
        case 'X':
        case 'z':
        case 'Z':
          if (word.substr(1) == gate_) change(word.front());
          break;
        case '#':
          advance(word);
          break;
        case 'b':
        case 'B':
        case 'r':
        case 'R':
          change_vector(std::string(word));
          break;
        case '$':
          in_block = read_block(std::string(word), in_block);
          break;
        default:
          refuse(quoted(word) + " is neither a time nor a change of value", "capture the file again");
      }
    }
    if (in_block) cut_off("a block of values");
  }

  bool read_block(const std::string& word, bool in_block) {
    if (word == "$end") {
      if (!in_block) refuse("$end closes nothing", "capture the file again");
      return false;
    }
    if (word == "$comment") {
      (void)section(word);
      return in_block;
    }
    for (const std::string_view known : {"$dumpvars", "$dumpall", "$dumpoff", "$dumpon"})
      if (word == known && !in_block) return true;
    refuse(quoted(word) + " does not belong among changes of value", "capture the file again");
  }

  void change_vector(const std::string& word) {
    const std::string_view id = words_.next();
    if (id.empty()) cut_off("a change of value");
    if (id != gate_) return;
    const bool is_bit = (word.front() == 'b' || word.front() == 'B') && word.size() > 1;
    if (!is_bit || std::string_view("01xXzZ").find(word.back()) == std::string_view::npos)
      refuse(quoted(word) + " is no value for a wire of one bit", "choose another wire by --wire");
    change(word.back());
  }

  // An unknown level counts only if time passes before it is known.
  void change(char value) {
    unknown_ = value != '0' && value != '1';
    given_ = true;
    if (!unknown_) trace_->set(time_, (value == '1') != options_.invert);
  }

  void advance(std::string_view word) {
    std::int64_t time = 0;
    const auto [end, problem] = std::from_chars(word.data() + 1, word.data() + word.size(), time);
    if (problem == std::errc::invalid_argument || end != word.data() + word.size() || word[1] == '-')
      refuse(quoted(word) + " is no time", "capture the file again");
    if (problem != std::errc{} || time > latest_)
      refuse("the time " + quoted(word) + " is later than a stream may last",
             "cut the capture, or use a coarser timescale");
    if (time < time_)
      refuse("the time goes back from #" + std::to_string(time_) + " to #" + std::to_string(time),
             "capture the file again, or export it in order of time");
    if (!started_) {
      started_ = true;
      first_ = time_ = time;
      if (first_ != 0) require_measured();
      return;
    }
    if (time > time_) pass_time();
    time_ = time;
  }

  // Time goes on after time_: a level that is not known now counts as high.
  void pass_time() {
    if (!given_ && time_ == first_) unknown_ = true;
    if (!unknown_) return;
    require_measured();
    ++unknown_levels_;
    unknown_ = false;
    trace_->set(time_, true);
  }

  void require_measured() const {
    if (exact_) throw NotAsMarked{};
  }

  StreamTail end_trace() {
    if (!given_) refuse("the wire never gets a value", "choose another wire by --wire, or capture it again");
    if (!started_) require_measured();
    if (!exact_ && time_ == first_) refuse("the capture lasts no time at all", "capture a stretch of time");
    StreamTail tail = trace_->finish(time_);
    tail.capture->unknown_levels = unknown_levels_;
    return tail;
  }

  // ---- what times mean

  [[nodiscard]] TraceScale scale() {
    if (const auto exact = marked_scale()) {
      exact_ = true;
      return *exact;
    }
    const int exponent = *exponent_;
    if (exponent > vcd::kMillisecond)
      refuse("the timescale is coarser than 1 ms", "capture with a finer timescale, 1 us at most");
    return {.tick_hz = vcd::power_of_ten(vcd::kSecond - std::max(exponent, vcd::kTenNanoseconds)),
            .units_per_tick = vcd::units_per_tick(exponent),
            .short_units =
                std::max<std::int64_t>(2, vcd::power_of_ten(std::max(0, vcd::kMicrosecond - exponent))),
            .marked_length = {}};
  }

  // A marked file read upside down is no longer what was written.
  [[nodiscard]] std::optional<TraceScale> marked_scale() const {
    if (!mark_ || !trust_mark_ || options_.invert) return std::nullopt;
    const std::int64_t second = vcd::power_of_ten(vcd::kSecond);
    if (second % mark_->tick_hz != 0) return std::nullopt;
    const std::int64_t tick = second / mark_->tick_hz, unit = vcd::power_of_ten(*exponent_);
    if (tick % unit != 0) return std::nullopt;
    return TraceScale{mark_->tick_hz, tick / unit, 0, mark_->length};
  }

  Words words_;
  const std::string& name_;
  const CaptureOptions& options_;
  vcd::Wires wires_;
  std::optional<int> exponent_;  // the timescale is 10^exponent fs
  std::optional<ExactMark> mark_;
  std::string gate_;
  std::optional<GateTrace> trace_;
  std::int64_t first_ = 0, time_ = 0, latest_ = 0, unknown_levels_ = 0;
  bool trust_mark_, exact_ = false, started_ = false, given_ = false, unknown_ = false;
};

}  // namespace

StreamTail read_vcd(TextSource source, const std::string& name, const CaptureOptions& options,
                    BurstSink& sink, bool trust_mark) {
  return Reader(std::move(source), name, options, trust_mark).read(sink);
}

Capture from_vcd(std::string_view text, const std::string& name, const CaptureOptions& options) {
  return whole_capture(
      [&](BurstSink& sink, bool trust) { return read_vcd(all_at_once(text), name, options, sink, trust); });
}

}  // namespace burstloom
