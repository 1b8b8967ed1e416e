#include "burstloom/stream/account.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/common/error.hpp"
#include "burstloom/stream/leb128.hpp"

namespace burstloom {
namespace {

constexpr std::uint64_t kMostLimits = 32, kHighestCents = 100'000;
constexpr std::uint64_t kLongestText = 65'535;

bool fits(const Account& account, const BurstStream& stream) {
  const std::size_t notes = account.notes.size(), bursts = stream.bursts.size();
  const auto note_there = [&](std::uint32_t note) { return note < notes; };
  const auto change_fits = [&](const Change& change) {
    const bool dropped = change.fate == Fate::dropped;
    return note_there(change.note) && static_cast<std::size_t>(change.fate) < kFates &&
           (change.burst ? !dropped && *change.burst < bursts : dropped) &&
           std::uint64_t{change.causes} >> account.limits.size() == 0;
  };
  return account.limits.size() <= kMostLimits && account.note_of_burst.size() == bursts &&
         std::all_of(account.note_of_burst.begin(), account.note_of_burst.end(), note_there) &&
         std::all_of(account.changes.begin(), account.changes.end(), change_fits);
}

// Signed numbers with the sign in the lowest bit, so that small ones of either sign stay short.
std::uint64_t folded(std::int64_t value) {
  return (static_cast<std::uint64_t>(value) << 1) ^ static_cast<std::uint64_t>(value >> 63);
}
std::int64_t unfolded(std::uint64_t value) {
  return static_cast<std::int64_t>(value >> 1) ^ -static_cast<std::int64_t>(value & 1);
}

class Writer {
 public:
  void number(std::uint64_t value) { append_leb128(bytes, value); }
  /// Against the number that stood here before.
  void step(std::int64_t value, std::int64_t& before) {
    number(folded(value - before));
    before = value;
  }
  void text(const std::string& text) {
    const std::size_t length = std::min<std::size_t>(text.size(), kLongestText);
    number(length);
    bytes.insert(bytes.end(), text.begin(), text.begin() + static_cast<std::ptrdiff_t>(length));
  }
  Bytes bytes;
};

/// Anything that cannot be read makes it bad for good, and all that follows 0.
class Reader {
 public:
  explicit Reader(std::span<const std::uint8_t> bytes) : rest_(bytes) {}
  [[nodiscard]] bool good() const { return good_; }
  [[nodiscard]] bool at_end() const { return good_ && rest_.empty(); }

  std::uint64_t number(std::uint64_t most = UINT64_MAX) {
    const auto read = good_ ? read_leb128(rest_) : std::nullopt;
    good_ = read && read->value <= most;
    if (!good_) return 0;
    rest_ = rest_.subspan(read->bytes);
    return read->value;
  }
  /// A count of things that take at least `bytes` each.
  std::uint64_t count(std::size_t bytes) { return number(rest_.size() / bytes); }
  std::int64_t step(std::int64_t& before) {
    const std::int64_t change = unfolded(number());
    if (std::abs(change / 4) > kEndOfTime || std::abs(before + change) > 4 * kEndOfTime) good_ = false;
    return good_ ? before += change : 0;
  }
  std::string text() {
    const auto length = static_cast<std::size_t>(number(std::min<std::uint64_t>(kLongestText, rest_.size())));
    if (!good_ || length > rest_.size()) return good_ = false, std::string();
    std::string text(reinterpret_cast<const char*>(rest_.data()), length);
    rest_ = rest_.subspan(length);
    return text;
  }

 private:
  std::span<const std::uint8_t> rest_;
  bool good_ = true;
};

void write_note(Writer& out, const AccountedNote& note, Tick& before) {
  out.step(note.start, before);
  out.number(static_cast<std::uint64_t>(std::max<Tick>(0, note.end - note.start)));
  out.number(static_cast<std::uint64_t>(std::clamp(std::lround(note.key * 100), 0l, long{kHighestCents})));
  out.number(static_cast<std::uint64_t>(std::lround(std::clamp(note.velocity, 0.0, 1.0) * 255)));
  for (const int number : {note.channel, note.track, note.voice})
    out.number(static_cast<std::uint64_t>(std::max(0, number)));
  out.text(note.said);
}

AccountedNote read_note(Reader& in, Tick& before) {
  AccountedNote note;
  note.start = in.step(before);
  note.end = note.start + static_cast<Tick>(in.number(static_cast<std::uint64_t>(kEndOfTime)));
  note.key = static_cast<double>(in.number(kHighestCents)) / 100;
  note.velocity = static_cast<double>(in.number(255)) / 255;
  for (int* number : {&note.channel, &note.track, &note.voice})
    *number = static_cast<int>(in.number(INT32_MAX));
  note.said = printable(in.text(), kLongestText);
  return note;
}

// Numbers of neighbours differ little: each is written as the step from the one before.
struct ChangeBefore {
  std::int64_t note = 0, start = 0, on = 0, burst = 0;
};

void write_change(Writer& out, const Change& change, ChangeBefore& before) {
  out.number(static_cast<std::uint64_t>(change.fate));
  out.number(change.causes);
  out.step(change.note, before.note);
  out.step(change.wanted_start, before.start);
  out.step(change.wanted_on, before.on);
  if (change.burst) out.step(*change.burst, before.burst);
}

Change read_change(Reader& in, ChangeBefore& before) {
  Change change;
  change.fate = static_cast<Fate>(in.number(kFates - 1));
  change.causes = static_cast<std::uint32_t>(in.number(UINT32_MAX));
  change.note = static_cast<std::uint32_t>(in.step(before.note));
  change.wanted_start = in.step(before.start);
  change.wanted_on = in.step(before.on);
  if (change.fate != Fate::dropped) change.burst = static_cast<std::uint32_t>(in.step(before.burst));
  return change;
}

}  // namespace

const char* name_of(Fate fate) {
  constexpr const char* names[kFates] = {"kept", "lengthened", "shortened", "shifted", "dropped"};
  return names[static_cast<std::size_t>(fate)];
}

Account excerpt(const Account& account, const BurstStream& stream, Tick from, Tick until) {
  if (account.empty()) return {};
  Account part = account;
  const BurstStream bursts = excerpt(stream, from, until);
  for (AccountedNote& note : part.notes) {
    note.start = std::clamp<Tick>(note.start - from, 0, bursts.length);
    note.end = std::clamp<Tick>(note.end - from, 0, bursts.length);
  }
  const auto before = std::lower_bound(stream.bursts.begin(), stream.bursts.end(), from,
                                       [](const Burst& burst, Tick t) { return burst.start < t; });
  const auto first = static_cast<std::uint32_t>(before - stream.bursts.begin());
  const auto count = static_cast<std::uint32_t>(bursts.bursts.size());
  part.note_of_burst.assign(account.note_of_burst.begin() + first,
                            account.note_of_burst.begin() + first + count);
  part.changes.clear();
  for (Change change : account.changes) {
    const bool is_in = change.burst ? *change.burst >= first && *change.burst - first < count
                                    : change.wanted_start >= from && change.wanted_start < until;
    if (!is_in) continue;
    change.wanted_start -= from;
    if (change.burst) *change.burst -= first;
    part.changes.push_back(change);
  }
  return part;
}

Bytes note_part(const Account& account, const BurstStream& stream) {
  if (!fits(account, stream))
    throw Error(Fault::usage, "an account that is not this stream's", "",
                "give each burst a note and name only what is there");
  Writer out;
  // Room that is not written to costs no memory; growing would hold all of it twice.
  out.bytes.reserve(40 * account.notes.size() + 3 * account.note_of_burst.size() +
                    10 * account.changes.size());
  out.number(account.limits.size());
  for (const std::string& limit : account.limits) out.text(limit);
  out.number(account.notes.size());
  Tick start = 0;
  for (const AccountedNote& note : account.notes) write_note(out, note, start);
  std::int64_t note_before = 0;
  for (const std::uint32_t note : account.note_of_burst) out.step(note, note_before);
  out.number(account.changes.size());
  ChangeBefore before;
  for (const Change& change : account.changes) write_change(out, change, before);
  return std::move(out.bytes);
}

std::optional<Account> from_note_part(std::span<const std::uint8_t> part, const BurstStream& stream) {
  Reader in(part);
  Account account;
  for (std::uint64_t left = in.number(kMostLimits); left > 0 && in.good(); --left)
    account.limits.push_back(in.text());
  Tick start = 0;
  for (std::uint64_t left = in.count(8); left > 0 && in.good(); --left)
    account.notes.push_back(read_note(in, start));
  std::int64_t note_before = 0;
  account.note_of_burst.reserve(stream.bursts.size());
  for (std::size_t left = stream.bursts.size(); left > 0 && in.good(); --left)
    account.note_of_burst.push_back(static_cast<std::uint32_t>(in.step(note_before)));
  ChangeBefore before;
  for (std::uint64_t left = in.count(5); left > 0 && in.good(); --left)
    account.changes.push_back(read_change(in, before));
  if (!in.at_end() || !fits(account, stream)) return std::nullopt;
  return account;
}

}  // namespace burstloom
