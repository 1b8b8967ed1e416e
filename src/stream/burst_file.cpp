// The .burst format; docs/reference/burst-format.md has it byte by byte.
#include <array>
#include <cstring>
#include <limits>
#include <optional>

#include "block_readers.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/stream/leb128.hpp"
#include "gate_trace.hpp"

namespace burstloom {
namespace {

using Span = std::span<const std::uint8_t>;

constexpr std::array<std::uint8_t, 8> kMagic{'B', 'U', 'R', 'S', 'T', 'L', 'M', 0x1A};
constexpr std::uint16_t kVersion = 1;
constexpr std::size_t kFirstChunk = kMagic.size() + 2;
constexpr std::size_t kChunkHead = 8;  // tag and length
constexpr const char* kTime = "TIME";
constexpr const char* kTitle = "TITL";
constexpr const char* kProfile = "COIL";
constexpr const char* kBursts = "BRST";
constexpr const char* kNotes = "NOTE";
constexpr const char* kCheck = "CRC3";
constexpr std::size_t kTimeSize = 4 + 8 + 4;
constexpr std::size_t kUsualBurst = 5;  // bytes; room that is not written to costs no memory

// ---- writing

void append_number(Bytes& out, std::uint64_t value, int bytes) {
  for (int i = 0; i < bytes; ++i) out.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
}

void append_chunk(Bytes& out, const char* tag, Span payload) {
  if (payload.size() > std::numeric_limits<std::uint32_t>::max())
    throw Error(Fault::usage, std::string("the part ") + tag + " would exceed 4 GiB", "",
                "write the song in several pieces");
  out.insert(out.end(), tag, tag + 4);
  append_number(out, payload.size(), 4);
  out.insert(out.end(), payload.begin(), payload.end());
}

void append_chunk(Bytes& out, const char* tag, const std::string& text) {
  append_chunk(out, tag, Span{reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

Bytes time_payload(const BurstStream& stream) {
  Bytes out;
  append_number(out, static_cast<std::uint64_t>(stream.tick_hz), 4);
  append_number(out, static_cast<std::uint64_t>(stream.length), 8);
  append_number(out, stream.bursts.size(), 4);
  return out;
}

// ---- reading

std::uint64_t number_at(Span bytes, std::size_t at, std::size_t count) {
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < count; ++i) value |= std::uint64_t{bytes[at + i]} << (8 * i);
  return value;
}

class Reader {
 public:
  Reader(Span bytes, const std::string& name) : bytes_(bytes), name_(name) {}

  BurstFile read() {
    check_head();
    find_chunks();
    BurstFile file;
    file.title = text(title_);
    file.profile = text(profile_);
    file.stream = read_time();
    file.stream.bursts.reserve(count_);
    read_bursts(file.stream.length, [&](Burst burst) { file.stream.bursts.push_back(burst); });
    read_account(file);
    return file;
  }

  /// The bursts alone, in blocks; the account is not looked at.
  StreamTail read_blocks(BurstSink& sink) {
    check_head();
    find_chunks();
    const BurstStream time = read_time();
    BlockOut out({.tick_hz = time.tick_hz, .capture = {}, .profile = text(profile_)}, sink);
    read_bursts(time.length, [&](Burst burst) { out.take(burst); });
    out.flush();
    return {.length = time.length, .capture = {}};
  }

 private:
  struct Chunk {
    std::size_t at = 0;  // of the payload
    std::size_t size = 0;
  };

  [[noreturn]] void refuse(const std::string& what, std::size_t at, const char* what_to_do) const {
    throw bad_input(what, printable(name_, 200) + ", byte " + std::to_string(at), what_to_do);
  }
  [[noreturn]] void cut_off() const {
    refuse("the file is cut off", bytes_.size(), "copy it again from where it is whole, or weave it again");
  }
  [[noreturn]] void damaged(const std::string& what, std::size_t at) const {
    refuse(what, at, "weave the song again");
  }

  void check_head() const {
    const std::size_t seen = std::min(bytes_.size(), kMagic.size());
    if (!std::equal(kMagic.begin(), kMagic.begin() + static_cast<std::ptrdiff_t>(seen), bytes_.begin()))
      refuse("is not a .burst file", 0, "give a file that was written by weave or export");
    if (bytes_.size() < kFirstChunk) cut_off();
    const auto version = number_at(bytes_, kMagic.size(), 2);
    if (version == 0 || version > kVersion)
      refuse(
          "has version " + std::to_string(version) + " of the format, known is " + std::to_string(kVersion),
          kMagic.size(), "use a newer Burstloom, or weave the song again with this one");
  }

  // Walks the chunks up to the checksum, which must be right and the last.
  void find_chunks() {
    for (std::size_t at = kFirstChunk;;) {
      if (bytes_.size() - at < kChunkHead) cut_off();
      const std::size_t size = number_at(bytes_, at + 4, 4);
      const Chunk chunk{at + kChunkHead, size};
      if (bytes_.size() - chunk.at < size) cut_off();
      if (has_tag(at, kCheck)) return check_sum(at, chunk);
      note(at, chunk);
      at = chunk.at + size;
    }
  }

  [[nodiscard]] bool has_tag(std::size_t at, const char* tag) const {
    return std::memcmp(bytes_.data() + at, tag, 4) == 0;
  }

  void note(std::size_t at, Chunk chunk) {
    for (const auto& [tag, place] :
         {std::pair{kTime, &time_}, std::pair{kTitle, &title_}, std::pair{kProfile, &profile_},
          std::pair{kBursts, &bursts_}, std::pair{kNotes, &notes_}}) {
      if (!has_tag(at, tag)) continue;
      if (place->has_value()) damaged(std::string("the part ") + tag + " stands there twice", at);
      *place = chunk;
    }
  }

  void check_sum(std::size_t at, Chunk chunk) const {
    if (chunk.size != 4) damaged("the checksum has " + std::to_string(chunk.size) + " bytes, not 4", at);
    if (crc32(bytes_.first(at)) != number_at(bytes_, chunk.at, 4))
      refuse("the CRC-32 does not match, the file is damaged", at, "copy it again or weave the song again");
    const std::size_t end = chunk.at + chunk.size;
    if (end != bytes_.size())
      refuse(std::to_string(bytes_.size() - end) + " bytes stand after the end of the file", end,
             "copy the file again, alone");
  }

  [[nodiscard]] std::string text(const std::optional<Chunk>& chunk) const {
    if (!chunk) return {};
    return {reinterpret_cast<const char*>(bytes_.data()) + chunk->at, chunk->size};
  }

  // The stream without its bursts; notes how many there are, which the part BRST may hold.
  BurstStream read_time() {
    if (!time_) damaged("the part TIME is missing", kFirstChunk);
    if (time_->size < kTimeSize) damaged("the part TIME is too short", time_->at);
    const auto tick_hz = number_at(bytes_, time_->at, 4);
    const auto length = number_at(bytes_, time_->at + 4, 8);
    count_ = number_at(bytes_, time_->at + 12, 4);
    if (tick_hz < kLowestTickHz || tick_hz > kHighestTickHz)
      damaged("the tick rate is " + std::to_string(tick_hz) + " Hz, allowed are 1000 to 100000000",
              time_->at);
    if (length >= static_cast<std::uint64_t>(kEndOfTime))
      damaged("the length is " + std::to_string(length) + " ticks, more than a stream may have",
              time_->at + 4);
    if (!bursts_) damaged("the part BRST is missing", kFirstChunk);
    // A burst takes two bytes at least: a lying count is found before memory is asked for.
    if (count_ > bursts_->size / 2)
      damaged(std::to_string(count_) + " bursts are announced, more than the part BRST can hold",
              bursts_->at);
    return {static_cast<std::int64_t>(tick_hz), static_cast<Tick>(length), {}};
  }

  template <class Take>
  void read_bursts(Tick length, Take take) const {
    std::size_t at = bursts_->at;
    Tick end = 0;
    for (std::uint64_t i = 0; i < count_; ++i) {
      const Tick start = end + next_ticks(at, length - end, i);
      const Tick on = next_ticks(at, length - start, i);
      if (on == 0) damaged(burst(i) + " has no on-time", at - 1);
      take(Burst{start, on});
      end = start + on;
    }
    const std::size_t past = bursts_->at + bursts_->size;
    if (at != past) damaged(std::to_string(past - at) + " bytes stand after the last burst", at);
  }

  void read_account(BurstFile& file) const {
    if (!notes_) return;
    auto account = from_note_part(bytes_.subspan(notes_->at, notes_->size), file.stream);
    if (!account) damaged("the part NOTE is no account of these bursts", notes_->at);
    file.account = std::move(*account);
  }

  // The number at `at`, which moves on; at most `room` ticks, so that no sum leaves the stream.
  Tick next_ticks(std::size_t& at, Tick room, std::uint64_t i) const {
    const std::size_t left = bursts_->at + bursts_->size - at;
    const auto number = read_leb128(bytes_.subspan(at, left));
    if (!number) damaged(burst(i) + " holds a number that is broken or longer than it need be", at);
    if (number->value > static_cast<std::uint64_t>(room))
      damaged(burst(i) + " reaches past the end of the stream", at);
    at += number->bytes;
    return static_cast<Tick>(number->value);
  }

  static std::string burst(std::uint64_t i) { return "burst " + std::to_string(i + 1); }

  Span bytes_;
  const std::string& name_;
  std::optional<Chunk> time_, title_, profile_, bursts_, notes_;
  std::uint64_t count_ = 0;
};

}  // namespace

Bytes burst_part(const BurstStream& stream) {
  Bytes out;
  out.reserve(stream.bursts.size() * kUsualBurst);
  Tick end = 0;
  for (const Burst& burst : stream.bursts) {
    append_leb128(out, static_cast<std::uint64_t>(burst.start - end));
    append_leb128(out, static_cast<std::uint64_t>(burst.on));
    end = burst.end();
  }
  return out;
}

Bytes to_burst_file(const BurstFile& file) {
  require_in_order(file.stream, "the stream to be written");
  if (file.stream.bursts.size() > std::numeric_limits<std::uint32_t>::max())
    throw Error(Fault::usage, "more than 4294967295 bursts do not fit in one file", "",
                "write the song in several pieces");
  Bytes out(kMagic.begin(), kMagic.end());
  out.reserve(out.size() + file.stream.bursts.size() * 2 * kUsualBurst);
  append_number(out, kVersion, 2);
  append_chunk(out, kTime, time_payload(file.stream));
  append_chunk(out, kTitle, file.title);
  append_chunk(out, kProfile, file.profile);
  append_chunk(out, kBursts, burst_part(file.stream));
  if (!file.account.empty()) append_chunk(out, kNotes, note_part(file.account, file.stream));
  const std::uint32_t sum = crc32(out);
  Bytes check;
  append_number(check, sum, 4);
  append_chunk(out, kCheck, check);
  return out;
}

BurstFile from_burst_file(std::span<const std::uint8_t> bytes, const std::string& name) {
  return Reader(bytes, name).read();
}

StreamTail read_burst(std::span<const std::uint8_t> bytes, const std::string& name, BurstSink& sink) {
  return Reader(bytes, name).read_blocks(sink);
}

}  // namespace burstloom
