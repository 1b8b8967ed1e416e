#include "burstloom/weave/note_sums.hpp"

#include <algorithm>
#include <map>

#include "burstloom/common/words.hpp"

namespace burstloom {
namespace {

constexpr const char* kTooSoft = "too soft for the shortest burst";
constexpr const char* kBetweenFates = "; ";

// What single notes wanted and what the limits left of it.
struct Bursts {
  std::int64_t sounding = 0;
  std::map<std::uint32_t, std::int64_t> dropped;  // by cause, a bit
};

std::vector<Bursts> bursts_of_notes(const Account& account) {
  std::vector<Bursts> all(account.notes.size());
  for (const std::uint32_t note : account.note_of_burst) ++all[note].sounding;
  for (const Change& change : account.changes)
    if (change.fate == Fate::dropped)
      for (std::uint32_t bit = 0; bit < account.limits.size(); ++bit)
        if (change.causes >> bit & 1u) ++all[change.note].dropped[bit];
  return all;
}

// Of "folded from 0:01.000: ...; stolen from 0:02.000: no voice left": what follows the kind's moment.
std::string reason_for(NoteFateKind kind, const std::string& said) {
  const std::string begin = std::string(name_of(kind)) + " from ";
  std::size_t at = said.find(begin);
  if (at == std::string::npos || (at > 0 && said.compare(at - 2, 2, kBetweenFates) != 0)) return {};
  at = said.find(": ", at);
  return at == std::string::npos ? std::string() : said.substr(at + 2, said.find(kBetweenFates, at) - at - 2);
}

std::string what_took(const AccountedNote& note, const Bursts& bursts, const Account& account) {
  for (const NoteFateKind kind : {NoteFateKind::skipped, NoteFateKind::stolen})
    if (const std::string reason = reason_for(kind, note.said); !reason.empty()) return reason;
  const auto most = std::max_element(bursts.dropped.begin(), bursts.dropped.end(),
                                     [](const auto& a, const auto& b) { return a.second < b.second; });
  if (most != bursts.dropped.end()) return account.limits[most->first];
  return bursts.sounding > 0 ? std::string() : kTooSoft;
}

std::vector<NoteLoss> most_first(const std::map<std::string, std::int64_t>& notes) {
  std::vector<NoteLoss> losses;
  for (const auto& [reason, count] : notes) losses.push_back({reason, count});
  std::stable_sort(losses.begin(), losses.end(),
                   [](const NoteLoss& a, const NoteLoss& b) { return a.notes > b.notes; });
  return losses;
}

}  // namespace

NoteSums note_sums(const Account& account) {
  const std::vector<Bursts> bursts = bursts_of_notes(account);
  std::map<std::string, std::int64_t> cut_short_by, not_played_by;
  NoteSums sums;
  for (std::size_t i = 0; i < bursts.size(); ++i) {
    const std::string taken_by = what_took(account.notes[i], bursts[i], account);
    ++sums.read;
    if (bursts[i].sounding == 0) {
      ++sums.not_played, ++not_played_by[taken_by];
      continue;
    }
    sums.other_octave += reason_for(NoteFateKind::folded, account.notes[i].said).empty() ? 0 : 1;
    if (taken_by.empty())
      ++sums.whole;
    else
      ++sums.cut_short, ++cut_short_by[taken_by];
  }
  sums.cut_short_by = most_first(cut_short_by);
  sums.not_played_by = most_first(not_played_by);
  return sums;
}

std::string words_of(const NoteFate& fate) {
  return std::string(name_of(fate.what)) + " from " + clock_time(fate.from_s) +
         (fate.why.empty() ? "" : ": " + fate.why);
}

}  // namespace burstloom
