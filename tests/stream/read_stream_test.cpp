#include <gtest/gtest.h>

#include <thread>

#include <sys/stat.h>

#include "burstloom/stream/files.hpp"
#include "stream_support.hpp"

namespace burstloom {
namespace {

using test::expect_error;
using test::Folder;

const BurstStream kStream{2'000'000, 2000, {{100, 80}, {1900, 100}}};

// What a file is, is what is in it: each kind under each ending, and under none.
TEST(ReadStream, TheContentCountsNotTheEnding) {
  const Folder folder;
  for (const char* ending : {"", ".burst", ".csv", ".vcd", ".wav", ".txt"}) {
    const std::string path = folder.file("s") + ending;
    write_file(path, to_burst_file({kStream, "Two taps", "name = 1"}));
    const StreamFile burst = read_stream(path, {});
    EXPECT_EQ(burst.file.stream, kStream) << ending;
    EXPECT_EQ(burst.file.title, "Two taps");
    EXPECT_EQ(burst.file.profile, "name = 1");
    EXPECT_FALSE(burst.capture);
    write_file(path, to_csv(kStream));
    const StreamFile csv = read_stream(path, {});
    EXPECT_EQ(csv.file.stream, kStream) << ending;
    EXPECT_FALSE(csv.capture);
    write_file(path, to_vcd(kStream));
    const StreamFile vcd = read_stream(path, {});
    EXPECT_EQ(vcd.file.stream, kStream) << ending;
    ASSERT_TRUE(vcd.capture);
    EXPECT_TRUE(vcd.capture->exact);
    EXPECT_EQ(vcd.capture->stream, kStream);
    write_wav_gate(kStream, 2'000'000, path);
    const StreamFile wav = read_stream(path, {});
    EXPECT_EQ(wav.file.stream, kStream) << ending;
    ASSERT_TRUE(wav.capture);
    EXPECT_TRUE(wav.capture->exact);
  }
}

TEST(ReadStream, AnUnclearContentGoesByItsEnding) {
  const Folder folder;
  const auto refused = [&](const std::string& name, const std::string& content, const std::string& part) {
    write_file(folder.file(name), content);
    expect_error(Fault::bad_input, part, [&] { (void)read_stream(folder.file(name), {}); });
  };
  refused("a.csv", "1,2\n", "add '# tick_hz=2000000'");
  refused("a.CSV", "1,2\n", "add '# tick_hz=2000000'");
  refused("a.burst", "12345678901234567890", "is not a .burst file");
  refused("a.vcd", "1,2\n", "stands where declarations belong");
  refused("a.wav", "no sound", "cannot be read as sound");
  refused("a.txt", "1,2\n", "is no stream that Burstloom knows; give a .burst, .csv, .vcd or .wav file");
  for (const char* name : {"a", "a.csv", "a.burst", "a.vcd", "a.wav"})
    refused(name, "", "this file is empty");
  refused("a.csv", "# a coil\n[limits]\n", "this is a coil profile, and a stream belongs here");
  refused("a.burst", "MThd", "this is a MIDI file, and a stream belongs here; weave it: burstloom weave");
}

TEST(ReadStream, OptionsReachTheCapture) {
  const Folder folder;
  write_file(folder.file("c.vcd"),
             "$timescale 1us $end $var wire 1 ! a $end $var wire 1 @ b $end $enddefinitions $end "
             "#0 0! 1@ #10 0@ #30 1@ #90");
  EXPECT_EQ(read_stream(folder.file("c.vcd"), {"b", true}).file.stream.bursts,
            (std::vector<Burst>{{10, 20}}));
  expect_error(Fault::usage, "several wires", [&] { (void)read_stream(folder.file("c.vcd"), {}); });
}

TEST(ReadStream, MissingFilesAndFoldersAreRefused) {
  const Folder folder;
  expect_error(Fault::bad_input, "there is no such file",
               [&] { (void)read_stream(folder.file("none.vcd"), {}); });
  expect_error(Fault::bad_input, "is a folder", [&] { (void)read_stream(folder.path().string(), {}); });
}

TEST(ReadStream, APipeIsReadOnce) {
  const Folder folder;
  const std::string path = folder.file("pipe");
  ASSERT_EQ(::mkfifo(path.c_str(), 0600), 0);
  std::thread writer([&] { write_file(path, to_csv(kStream)); });
  EXPECT_EQ(read_stream(path, {}).file.stream, kStream);
  writer.join();
}

}  // namespace
}  // namespace burstloom
