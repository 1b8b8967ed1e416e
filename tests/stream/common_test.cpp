// The room `common`, which every other stands on: errors, whole files, the checksum.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fstream>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"
#include "stream_support.hpp"

namespace burstloom {
namespace {

using test::expect_error;
using test::Folder;

Bytes bytes_of(const std::string& text) {
  return {text.begin(), text.end()};
}
std::string text_of(const std::string& path) {
  const Bytes bytes = read_file(path);
  return {bytes.begin(), bytes.end()};
}

// ---- CRC-32

// The check value "123456789" -> CBF43926 is the one that catalogues of CRCs list for CRC-32/ISO-HDLC; the
// others are computed from the definition.
TEST(Crc32, KnownValues) {
  EXPECT_EQ(crc32(bytes_of("123456789")), 0xCBF43926u);
  EXPECT_EQ(crc32({}), 0u);
  EXPECT_EQ(crc32(Bytes{0, 0, 0, 0}), 0x2144DF1Cu);
  EXPECT_EQ(crc32(Bytes{0xFF, 0xFF, 0xFF, 0xFF}), 0xFFFFFFFFu);
}

// Bit by bit, as the checksum is defined; of every length around the eight bytes that are taken at once.
TEST(Crc32, IsTheSameBitByBitAndInTwoParts) {
  Bytes bytes;
  for (unsigned i = 0; i < 40; ++i) {
    std::uint32_t crc = 0xFFFFFFFFu;
    for (const std::uint8_t byte : bytes)
      for (int bit = 0; bit < 8; ++bit)
        crc = (crc >> 1) ^ (((crc ^ (std::uint32_t{byte} >> bit)) & 1) != 0 ? 0xEDB88320u : 0u);
    EXPECT_EQ(crc32(bytes), ~crc) << bytes.size() << " bytes";
    const std::span<const std::uint8_t> all(bytes);
    for (std::size_t cut = 0; cut <= bytes.size(); ++cut)
      EXPECT_EQ(crc32(all.subspan(cut), crc32(all.first(cut))), ~crc) << "cut at " << cut;
    bytes.push_back(static_cast<std::uint8_t>(i * 37 + 11));
  }
}

RC_GTEST_PROP(Crc32, AMessageWithItsSumHasTheKnownResidue, (Bytes bytes)) {
  const std::uint32_t sum = crc32(bytes);
  for (int i = 0; i < 4; ++i) bytes.push_back(static_cast<std::uint8_t>(sum >> (8 * i)));
  RC_ASSERT(crc32(bytes) == 0x2144DF1Cu);
}

RC_GTEST_PROP(Crc32, PiecesGiveTheSumOfTheWhole, (Bytes first, Bytes second)) {
  Bytes whole = first;
  whole.insert(whole.end(), second.begin(), second.end());
  RC_ASSERT(crc32(second, crc32(first)) == crc32(whole));
}

// ---- errors

TEST(Error, IsOneSentenceOfThreeParts) {
  const Error error(Fault::machine, "the disk is full", "s.burst", "make room");
  EXPECT_STREQ(error.what(), "s.burst: the disk is full; make room.");
  EXPECT_STREQ(Error(Fault::usage, "no", "", "yes").what(), "no; yes.");
  EXPECT_EQ(error.problem(), "the disk is full");
  EXPECT_EQ(error.where(), "s.burst");
  EXPECT_EQ(error.what_to_do(), "make room");
  EXPECT_EQ(bad_input("a", "b", "c").fault(), Fault::bad_input);
}

TEST(Printable, KeepsGoodTextAndReplacesTheRest) {
  EXPECT_EQ(printable("Wren \xC3\xA9 \xE2\x82\xAC \xF0\x9D\x84\x9E"),
            "Wren \xC3\xA9 \xE2\x82\xAC \xF0\x9D\x84\x9E");
  EXPECT_EQ(printable("a\nb\tc\x1B[2J\x7F"), "a?b?c?[2J?");
  EXPECT_EQ(printable("\xC2\x9B"), "?") << "a control character of two bytes";
  EXPECT_EQ(printable(std::string("a\0b", 3)), "a?b");
  EXPECT_EQ(printable("\xFF\xC3"), "??");
}

// Unicode: what turns the direction of text (UAX 9, section 2), parts lines, or shows nothing at all.
constexpr const char* kHidden[] = {
    "\xC2\x80",     "\xC2\x9F",         "\xC2\xAD",         "\xD8\x9C",        "\xE1\xA0\x8E",
    "\xE2\x80\x8B", "\xE2\x80\x8C",     "\xE2\x80\x8D",     "\xE2\x80\x8E",    "\xE2\x80\x8F",
    "\xE2\x80\xA8", "\xE2\x80\xA9",     "\xE2\x80\xAA",     "\xE2\x80\xAE",    "\xE2\x81\xA0",
    "\xE2\x81\xA6", "\xE2\x81\xA9",     "\xEF\xBB\xBF",     "\xEF\xBF\xB9",    "\xE3\x85\xA4",
    "\xEF\xBE\xA0", "\xF3\xA0\x80\x81", "\xF3\xA0\x81\xBF", "\xF0\x9D\x85\xB3"};
// What stands right beside them, and is shown.
constexpr const char* kShown[] = {"\xC2\xA0",     "\xC2\xAC",     "\xC2\xAE",     "\xD8\x9B",
                                  "\xE2\x80\x8A", "\xE2\x80\x90", "\xE2\x80\xA7", "\xE2\x80\xAF",
                                  "\xE2\x81\x9F", "\xE2\x81\xB0", "\xD7\x90",     "\xE3\x85\xA3",
                                  "\xEF\xBF\xBD", "\xEF\xB8\x8F", "\xEF\xBC\x81", "\xF0\x9F\x8E\xB5"};

TEST(Printable, WhatNobodySeesIsSeen) {
  for (const std::string hidden : kHidden) {
    EXPECT_EQ(printable("a" + hidden + "b"), "a?b") << hidden;
    EXPECT_EQ(printable_lines("a" + hidden + "b\n"), "a?b\n") << hidden;
  }
  for (const std::string shown : kShown) EXPECT_EQ(printable("a" + shown + "b"), "a" + shown + "b");
}

TEST(PrintableLines, KeepLineEndsTabsAndColoursOnly) {
  EXPECT_EQ(printable_lines("a\tb\nc\x1B[1;31md\x1B[0m\x1B[m"), "a\tb\nc\x1B[1;31md\x1B[0m\x1B[m");
  EXPECT_EQ(printable_lines("\x1B[2J \x1B]0;t\a \x1B[31 \x1B \r\b\xFF"), "?[2J ?]0;t? ?[31 ? ???");
  EXPECT_EQ(printable_lines("\x1B["), "?[");
  EXPECT_EQ(printable_lines(std::string(1000, 'x')), std::string(1000, 'x'));
}

// RFC 3629, section 4: over-long forms, surrogates and what lies past U+10FFFF are no UTF-8.
TEST(Printable, BrokenUtf8) {
  for (const char* bad : {"\xC0\x80", "\xC1\xBF"}) EXPECT_EQ(printable(bad), "??");
  for (const char* bad : {"\xE0\x80\x80", "\xE0\x9F\xBF", "\xED\xA0\x80", "\xED\xBF\xBF"})
    EXPECT_EQ(printable(bad), "???");
  for (const char* bad : {"\xF0\x80\x80\x80", "\xF0\x8F\xBF\xBF", "\xF4\x90\x80\x80", "\xF5\x80\x80\x80"})
    EXPECT_EQ(printable(bad), "????");
  EXPECT_EQ(printable("\xED\x9F\xBF\xEE\x80\x80\xF4\x8F\xBF\xBF"),
            "\xED\x9F\xBF\xEE\x80\x80\xF4\x8F\xBF\xBF");
}

TEST(Printable, LongTextIsCutInTheMiddle) {
  EXPECT_EQ(printable("abcdefghij", 10), "abcdefghij");
  EXPECT_EQ(printable("abcdefghijk", 10), "abcd..hijk");
  EXPECT_EQ(printable("\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC", 10),
            "\xE2\x82\xAC..\xE2\x82\xAC");
}

RC_GTEST_PROP(Printable, NeverLongerNeverControlsAndStable, (std::string text)) {
  const auto longest = *rc::gen::inRange<std::size_t>(0, 40);
  const std::string shown = printable(text, longest);
  RC_ASSERT(shown.size() <= longest);
  RC_ASSERT(printable(shown, longest) == shown);
  for (const char c : shown) RC_ASSERT(static_cast<unsigned char>(c) >= 0x20 && c != 0x7F);
}

// ---- files

TEST(Files, WhatIsWrittenIsRead) {
  const Folder folder;
  const std::string path = folder.file("a");
  write_file(path, "first");
  EXPECT_EQ(text_of(path), "first");
  write_file(path, Bytes{0, 1, 255});
  EXPECT_EQ(read_file(path), (Bytes{0, 1, 255}));
  write_file(path, "");
  EXPECT_TRUE(read_file(path).empty());
  EXPECT_EQ(folder.entries(), 1u) << "no temporary file stays";
}

TEST(Files, ReadingSaysWhatIsWrong) {
  const Folder folder;
  expect_error(Fault::bad_input, "there is no such file", [&] { (void)read_file(folder.file("none")); });
  expect_error(Fault::bad_input, "is a folder", [&] { (void)read_file(folder.path().string()); });
  write_file(folder.file("a"), "12345");
  EXPECT_EQ(read_file(folder.file("a"), 5).size(), 5u);
  expect_error(Fault::bad_input, "is larger than 4 bytes", [&] { (void)read_file(folder.file("a"), 4); });
  expect_error(Fault::bad_input, "is larger than 1000 bytes", [] { (void)read_file("/dev/zero", 1000); });
}

TEST(Files, AFailedWriteLeavesTheOldFile) {
  const Folder folder;
  write_file(folder.file("a"), "old");
  expect_error(Fault::machine, "nothing was written", [&] { write_file(folder.file("no/such"), "x"); });
  std::filesystem::create_directory(folder.file("taken"));
  expect_error(Fault::machine, "cannot put the finished file in place",
               [&] { write_file(folder.file("taken"), "x"); });
  struct Stop {};
  EXPECT_THROW(write_file_in_pieces(folder.file("a"),
                                    [](FileInPieces& file) {
                                      (void)file.write(Bytes{'h', 'a', 'l', 'f'});
                                      throw Stop{};
                                    }),
               Stop);
  EXPECT_EQ(text_of(folder.file("a")), "old");
  EXPECT_EQ(folder.entries(), 2u);
}

TEST(Files, AFolderThatVanishesWhileWriting) {
  const Folder folder;
  const auto gone = folder.path() / "gone";
  std::filesystem::create_directory(gone);
  expect_error(Fault::machine, "cannot put the finished file in place", [&] {
    write_file_in_pieces((gone / "a").string(), [&](FileInPieces&) { std::filesystem::remove_all(gone); });
  });
  EXPECT_EQ(folder.entries(), 0u);
}

TEST(Files, AFullDiskIsAnErrorOfTheMachine) {
  expect_error(Fault::machine, "No space left", [] { write_file("/dev/full", "some text"); });
  // The reason counts, not what a library makes of it.
  struct LibrarySaysNo {};
  expect_error(Fault::machine, "No space left", [] {
    write_file_in_pieces("/dev/full", [](FileInPieces& file) {
      (void)file.write(Bytes(9));
      throw LibrarySaysNo{};
    });
  });
}

TEST(Files, DevicesAndPipesAreWrittenToNotReplaced) {
  struct stat before {
  }, after{};
  ASSERT_EQ(::stat("/dev/null", &before), 0);
  write_file("/dev/null", "text");
  write_file_in_pieces("/dev/null", [](FileInPieces& file) { EXPECT_EQ(file.write(Bytes(9)), 9u); });
  ASSERT_EQ(::stat("/dev/null", &after), 0);
  EXPECT_TRUE(S_ISCHR(after.st_mode));
  EXPECT_EQ(before.st_ino, after.st_ino);
}

TEST(Files, FilesTogetherAreAllNewOrNone) {
  const Folder folder;
  write_file(folder.file("a"), "old");
  {
    FilesTogether files;
    for (const char* name : {"a", "b", "c"}) files.add(folder.file(name), "new");
    for (const auto& entry : std::filesystem::directory_iterator(folder.path()))
      if (entry.path().stem() == "c") std::filesystem::remove(entry);  // so that it cannot be placed
    expect_error(Fault::machine, "nothing was written", [&] { files.place(); });
  }
  EXPECT_EQ(text_of(folder.file("a")), "old");
  EXPECT_EQ(folder.entries(), 1u);
  FilesTogether files;
  files.add(folder.file("a"), "new");
  expect_error(Fault::usage, "two files would be written", [&] { files.add(folder.file("./a"), "other"); });
  files.add(folder.file("b"), "new");
  files.place();
  EXPECT_EQ(text_of(folder.file("a")), "new");
  EXPECT_EQ(folder.entries(), 2u);
}

TEST(Files, InputsAreKept) {
  const Folder folder;
  write_file(folder.file("a"), "x");
  std::filesystem::create_symlink(folder.file("a"), folder.file("link"));
  expect_error(Fault::usage, "would be replaced", [&] {
    require_inputs_kept({"", folder.file("a")}, {"", folder.file("link")});
  });
  EXPECT_NO_THROW(require_inputs_kept({folder.file("a"), "/dev/null"}, {folder.file("b"), "/dev/null"}));
}

// What a stranger or a killed run left under a name that a temporary file might have.
TEST(Files, NoTemporaryFileTakesWhatIsThere) {
  const Folder folder;
  write_file(folder.file("diary"), "mine");
  const std::string part = ".part" + std::to_string(::getpid());
  std::filesystem::create_symlink(folder.file("diary"), folder.file("a" + part));
  std::filesystem::create_symlink(folder.file("nowhere"), folder.file("b" + part));
  std::filesystem::create_hard_link(folder.file("diary"), folder.file("c" + part));
  std::filesystem::create_symlink(folder.path(), folder.file("out" + part));
  for (const char* name : {"a", "b", "c"}) {
    write_file(folder.file(name), "new");
    EXPECT_EQ(text_of(folder.file(name)), "new");
  }
  write_folder(folder.file("out"), {{"d", "new"}});
  EXPECT_EQ(text_of(folder.file("out/d")), "new");
  EXPECT_EQ(text_of(folder.file("diary")), "mine");
  EXPECT_FALSE(std::filesystem::exists(folder.file("nowhere")));
  EXPECT_EQ(folder.entries(), 9u) << "what was there is there, and nothing more";
}

TEST(Files, AWholeFolder) {
  const Folder folder;
  const std::string out = folder.file("project/deep");
  write_folder(out, {{"a.txt", "one"}, {"src/b.c", "two"}, {"src/sub/c.c", "three"}});
  EXPECT_EQ(text_of(out + "/a.txt"), "one");
  EXPECT_EQ(text_of(out + "/src/b.c"), "two");
  EXPECT_EQ(text_of(out + "/src/sub/c.c"), "three");
  write_folder(out + "/", {{"a.txt", "again"}});
  EXPECT_EQ(text_of(out + "/a.txt"), "again");
  EXPECT_EQ(text_of(out + "/src/b.c"), "two");
}

TEST(Files, AFolderThatFailsStaysAsItWas) {
  const Folder folder;
  write_folder(folder.file("out"), {{"a", "old"}});
  std::filesystem::create_directory(folder.file("out/b"));
  expect_error(Fault::machine, "in place", [&] {
    write_folder(folder.file("out"), {{"a", "new"}, {"b", "x"}, {"c/d", "x"}});
  });
  expect_error(Fault::machine, "cannot make this folder", [&] {
    write_folder(folder.file("out"), {{"e/f", "x"}, {"a/g", "x"}});
  });
  expect_error(Fault::machine, "cannot make this folder", [&] {
    write_folder(folder.file("out/a/h"), {{"i", "x"}});
  });
  EXPECT_EQ(text_of(folder.file("out/a")), "old");
  const std::filesystem::directory_iterator left(folder.file("out"));
  EXPECT_EQ(std::distance(begin(left), end(left)), 3) << "only a, b and the list of what was written";
}

TEST(Files, NothingIsWrittenOutsideTheFolder) {
  const Folder folder;
  for (const char* path : {"../a", "b/../../a", "/tmp/a", ""})
    expect_error(Fault::usage, "does not lie below the folder", [&] {
      write_folder(folder.file("out"), {{path, "x"}});
    });
  EXPECT_EQ(folder.entries(), 0u);
}

}  // namespace
}  // namespace burstloom
