// What became of a song's notes, as JSON and in words.
#include "command_line.hpp"

namespace burstloom::command {
namespace {

Json to_json(const std::vector<NoteLoss>& losses) {
  Json all = Json::array();
  for (const NoteLoss& loss : losses) all.push_back({{"reason", loss.reason}, {"notes", loss.notes}});
  return all;
}

std::string with_share(std::int64_t notes, std::int64_t of) {
  const std::string share =
      of > 0 ? " (" + in_tenths(100.0 * static_cast<double>(notes) / static_cast<double>(of)) + " %)" : "";
  return grouped(notes) + share;
}

std::string describe(const std::string& name, const std::vector<NoteLoss>& losses) {
  std::string text;
  for (const NoteLoss& loss : losses)
    text += (text.empty() ? "" : ", ") + loss.reason + " " + grouped(loss.notes);
  return text.empty() ? "" : "    " + name + ": " + text + "\n";
}

}  // namespace

Json to_json(const NoteSums& notes) {
  return {{"read", notes.read},
          {"whole", notes.whole},
          {"cut_short", notes.cut_short},
          {"not_played", notes.not_played},
          {"other_octave", notes.other_octave},
          {"cut_short_by", to_json(notes.cut_short_by)},
          {"not_played_by", to_json(notes.not_played_by)}};
}

std::string describe(const NoteSums& notes) {
  std::string text = "  notes: " + grouped(notes.read) + " read = " + with_share(notes.whole, notes.read) +
                     " played whole + " + with_share(notes.cut_short, notes.read) + " cut short + " +
                     with_share(notes.not_played, notes.read) + " not played\n" +
                     describe("cut short", notes.cut_short_by) + describe("not played", notes.not_played_by);
  if (notes.other_octave > 0)
    text += "    in another octave: " + grouped(notes.other_octave) + " of those played\n";
  return text;
}

}  // namespace burstloom::command
