// The room `common`: what a mistyped word, line or file was meant to be.
#include "burstloom/common/nearest.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "../../src/common/toml_slips.hpp"
#include "burstloom/common/file_kind.hpp"
#include "burstloom/common/files.hpp"
#include "stream_support.hpp"

namespace burstloom {
namespace {

using test::expect_error;
using test::Folder;

const std::vector<std::string> kOptions = {"--arrangement", "--coil", "--out", "--ledger", "--voices"};

TEST(Nearest, CountsEdits) {
  EXPECT_EQ(edit_distance("", "abc"), 3U);
  EXPECT_EQ(edit_distance("kitten", "sitting"), 3U);  // Levenshtein's usual example, common practice
  EXPECT_EQ(edit_distance("gpa_us", "gap_us"), 1U);
}

TEST(Nearest, FindsWhatWasMeant) {
  EXPECT_EQ(nearest("--ciol", kOptions), "--coil");
  EXPECT_EQ(nearest("--voises", kOptions), "--voices");
  EXPECT_EQ(nearest("--OUT", kOptions), "--out");
  EXPECT_EQ(nearest("--banana", kOptions), "");
  EXPECT_EQ(nearest("x", {"y"}), "");
  EXPECT_EQ(nearest("", kOptions), "");
  EXPECT_EQ(nearest(std::string(100'000, 'a'), kOptions), "");
  EXPECT_EQ(nearest("gap", {std::string(100'000, 'a'), "gap_us"}), "");
  EXPECT_EQ(did_you_mean("--ciol", kOptions, "see --help"), "did you mean --coil?");
  EXPECT_EQ(did_you_mean("--banana", kOptions, "see --help"), "see --help");
}

RC_GTEST_PROP(Nearest, AnyWordWithTwoNeighboursSwappedIsFound, ()) {
  const std::string meant = kOptions[*rc::gen::inRange<std::size_t>(0, kOptions.size())];
  std::string given = meant;
  const auto at = *rc::gen::inRange<std::size_t>(2, given.size() - 1);
  std::swap(given[at], given[at + 1]);
  RC_ASSERT(nearest(given, kOptions) == meant);
}

TEST(Nearest, AFileBesideIsNamed) {
  const Folder folder;
  write_file(folder.file("song.mid"), "MThd");
  expect_error(Fault::bad_input, "there is no such file; did you mean song.mid?",
               [&] { throw no_such_file(folder.file("sogn.mid")); });
  expect_error(Fault::bad_input, "there is no such file; check its name",
               [&] { throw no_such_file(folder.file("overture.flac")); });
  expect_error(Fault::bad_input, "there is no folder",
               [&] { throw no_such_file(folder.file("nowhere/song.mid")); });
}

TEST(TomlSlips, SayWhatToWrite) {
  const auto advice = [](std::string_view line) {
    const auto slip = slip_in(line);
    return slip ? slip->what_to_do : "";
  };
  EXPECT_EQ(advice("gap_us = 400,5"), "write 400.5");
  EXPECT_EQ(advice("on_time_us = { min = 2,5, max = 10 }"), "write 2.5");
  EXPECT_EQ(advice("gap_us = 400 us"), "write the number alone, 400: the key says the unit");
  EXPECT_EQ(advice("42 = off"), "write 42 = \"off\"");
  EXPECT_EQ(advice("gap_us = ?"), "write the value; the line above says what it means");
  EXPECT_EQ(advice("on = True\r"), "write true or false");
  EXPECT_EQ(advice("gap_us: 400"), "write gap_us = 400");
  EXPECT_EQ(advice("name = \"My coil"), "close the text with \"");
  EXPECT_EQ(advice("name = \xE2\x80\x9CMy coil\xE2\x80\x9D"),
            "write straight ones, as in name = \"My coil\"");
  EXPECT_EQ(advice("file = \"songs\\one.mid\""), "write folders with /, as in \"songs/one.mid\"");
  EXPECT_EQ(advice("gap_us = "), "");
  EXPECT_EQ(advice("[limits"), "");
  EXPECT_EQ(advice("a = " + std::string(100'000, '1') + " b"), "");
}

TEST(FileKind, IsToldByTheBeginning) {
  EXPECT_EQ(kind_of_content(""), FileKind::empty);
  EXPECT_EQ(kind_of_content("MThd"), FileKind::midi);
  EXPECT_EQ(kind_of_content("RIFF....RMID"), FileKind::midi);
  EXPECT_EQ(kind_of_content("RIFF....WAVE"), FileKind::sound);
  EXPECT_EQ(kind_of_content("RIFF....AVI "), FileKind::unknown);
  EXPECT_EQ(kind_of_content("BURSTLM\x1A"), FileKind::stream);
  EXPECT_EQ(kind_of_content("# mine\nname = \"A\"\n  [limits]\n"), FileKind::profile);
  EXPECT_EQ(kind_of_content("[[channel]]"), FileKind::arrangement);
  EXPECT_EQ(kind_of_content("coil = \"c\"\n[[song]]\n"), FileKind::set);
  EXPECT_EQ(kind_of_content("start_us,on_us\n"), FileKind::unknown);
}

TEST(FileKind, AnotherKindIsSentWhereItBelongs) {
  expect_error(Fault::bad_input, "a.mid: this is a MIDI file, and a coil profile belongs here; weave it",
               [] { require_kind(FileKind::profile, "MThd", "a.mid"); });
  expect_error(Fault::bad_input,
               "this is a coil profile, and a song belongs here; a profile goes after --coil",
               [] { require_kind(FileKind::midi, "[limits]", "coil.toml"); });
  expect_error(Fault::bad_input, "this file is empty", [] { require_kind(FileKind::midi, "", "a.mid"); });
  EXPECT_NO_THROW(require_kind(FileKind::profile, "[limits]", "coil.toml"));
  EXPECT_NO_THROW(require_kind(FileKind::profile, "name = \"A\"", "coil.toml"));
}

}  // namespace
}  // namespace burstloom
