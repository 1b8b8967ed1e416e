// Text that comes out of a stranger's file is shown without what nobody sees in it: every output, every
// character. JSON, .burst files and set.json are data and keep it.
#include <fstream>

#include "burstloom/common/files.hpp"
#include "burstloom/stream/files.hpp"
#include "support.hpp"

namespace burstloom::testing {
namespace {

// What turns the direction of text (UAX 9), parts lines, takes no room, or commands a terminal.
const std::vector<std::string> kHidden = {
    "\u202A", "\u202B", "\u202C",   "\u202D",   "\u202E",  "\u2066",  "\u2067", "\u2068", "\u2069",
    "\u200B", "\u200C", "\u200D",   "\u200E",   "\u200F",  "\u061C",  "\u2028", "\u2029", "\u2060",
    "\uFEFF", "\u00AD", "\xC2\x85", "\xC2\x9B", "\x1B[2J", "\x1B]0;", "\x07",   "\x7F"};

std::string hostile(const std::string& name) {
  std::string text = name;
  for (const std::string& it : kHidden) text += it + ".";
  return text;
}

// File names may hold all of it but '/'.
std::string hostile_file(const std::string& name, const std::string& ending) {
  return hostile(name) + ending;
}

class HiddenText : public Command {
 protected:
  void expect_clean(const std::string& output, const std::string& text) {
    EXPECT_FALSE(text.empty()) << output;
    for (std::size_t i = 0; i < kHidden.size(); ++i)
      EXPECT_EQ(text.find(kHidden[i]), std::string::npos) << output << " holds character " << i;
  }
  /// What it prints, and all that it has written as text.
  void expect_clean(const std::vector<std::string>& words, int code = 0) {
    const Ran ran = run(words);
    EXPECT_EQ(ran.code, code) << words[0] << ran.out << ran.err;
    expect_clean(words[0] + "'s answer", ran.out + ran.err);
  }
  void expect_clean_file(const std::string& path) { expect_clean(path, content_of(path)); }

  /// The bundled song with another title.
  std::string hostile_stream() {
    const Bytes bytes = read_file(woven());
    BurstFile file = from_burst_file(bytes, "woven.burst");
    file.title = hostile("Title");
    write_file(folder_ / "hostile.burst", to_burst_file(file));
    return folder_ / "hostile.burst";
  }
  /// A note and a drum under a track name, in a file of that name.
  std::string hostile_song() {
    const std::string name = hostile("Track");
    std::string track = {0, '\xFF', 3, static_cast<char>(name.size())};
    track += name;
    track += std::string("\0\x90\x45\x64\x60\x80\x45\0\0\xFF\x2F\0", 12);
    std::string bytes = std::string("MThd\0\0\0\6\0\0\0\1\0\x60MTrk\0\0\0", 21);
    bytes += static_cast<char>(track.size());
    const std::string path = folder_ / hostile_file("song", ".mid");
    std::ofstream(path, std::ios::binary) << bytes << track;
    return path;
  }
};

TEST_F(HiddenText, TheStreamKeepsItsTitle) {
  const Bytes bytes = read_file(hostile_stream());
  EXPECT_EQ(from_burst_file(bytes, "s").title, hostile("Title"));
}

TEST_F(HiddenText, NotInWhatIsExported) {
  const std::string stream = hostile_stream();
  for (const std::string format : {"header", "project", "vcd", "csv"}) {
    const std::string out = folder_ / ("out-" + format);
    expect_clean({"export", stream, "--to", format, "--target", "rp2040", "--out", out});
    if (!std::filesystem::is_directory(out)) expect_clean_file(out);
  }
  for (const char* name : {"README.md", "burst_table.h"}) expect_clean_file(folder_ / "out-project/" + name);
}

TEST_F(HiddenText, NotInVerdictsAndReports) {
  const std::string stream = hostile_stream();
  expect_clean({"check", stream});
  expect_clean({"preview", stream, "--out", folder_ / "page.html"});
  expect_clean_file(folder_ / "page.html");
  // The same where the file's name is all that a page has.
  const std::string named = folder_ / hostile_file("stream", ".burst");
  std::filesystem::copy_file(stream, named);
  expect_clean({"preview", named, "--out", folder_ / "page.html"});
  expect_clean_file(folder_ / "page.html");
}

TEST_F(HiddenText, NotInWhatIsSaidOfASong) {
  const std::string song = hostile_song();
  expect_clean({"song", song});
  expect_clean({"song", song, "--suggest", folder_ / "arrangement.toml"});
  expect_clean_file(folder_ / "arrangement.toml");
  expect_clean({"weave", song, "--coil", kCoil, "--out", folder_ / hostile_file("out", ".burst")});
}

TEST_F(HiddenText, NotInAnEveningsPages) {
  const std::string song = hostile_song();
  // A set names no such file itself: its texts are refused.
  std::filesystem::copy_file(song, folder_ / "song.mid");
  const std::string set = folder_ / hostile_file("evening", ".toml");
  std::ofstream(set) << "coil = \"" << kCoil << "\"\n[[song]]\nfile = \"song.mid\"\n";
  const std::string out = folder_ / "evening";
  expect_clean({"set", set, "--out", out});
  for (const char* name : {"evening.html", "sheet.html", "songs/01-song.html"})
    expect_clean_file(out + "/" + name);
  // And when all of it is made already.
  expect_clean({"set", set, "--out", out});
}

TEST_F(HiddenText, NotInErrors) {
  const std::string nowhere = folder_ / hostile_file("nowhere", ".burst");
  expect_clean({"check", nowhere, "--coil", kCoil}, 3);
  expect_clean({"coil", "show", nowhere}, 3);
  expect_clean({"weave", nowhere, "--coil", nowhere, "--out", nowhere}, 3);
  expect_clean({hostile("command")}, 2);
  expect_clean({"check", hostile("--option")}, 2);
  const auto written = [&](const std::string& name, const std::string& text) {
    std::ofstream(folder_ / name, std::ios::binary) << text;
    return folder_ / name;
  };
  expect_clean({"check", written("a.csv", hostile("a")), "--coil", kCoil}, 3);
  expect_clean({"check", written("a.vcd", "$timescale " + hostile("1") + " ns $end"), "--coil", kCoil}, 3);
  expect_clean({"check",
                written("b.vcd", "$timescale 1 us $end $var wire 1 ! " + hostile("w") +
                                     " $end $enddefinitions $end #0 0!"),
                "--coil", kCoil},
               3);
  expect_clean({"coil", "show", written("name.toml", "name = \"" + hostile("a") + "\"\n")}, 3);
  expect_clean({"coil", "show", written("key.toml", "\"\u202Ekey\" = 1\n")}, 3);
}

}  // namespace
}  // namespace burstloom::testing
