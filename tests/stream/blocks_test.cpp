// Streams in blocks: the same as whole, whatever the blocks, from files and from pipes.
#include "burstloom/stream/blocks.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>
#include <sys/stat.h>

#include <fstream>
#include <thread>

#include "burstloom/common/file_blocks.hpp"
#include "stream_support.hpp"

namespace burstloom {
namespace {

using test::expect_error;
using test::Folder;

struct Counted : WholeStream {
  void begin(const StreamHead& its_head) override {
    ++begun;
    head = its_head;
    WholeStream::begin(its_head);
  }
  void take(std::span<const Burst> block) override {
    EXPECT_TRUE(!block.empty() && block.size() <= kBurstsInBlock);
    WholeStream::take(block);
  }
  int begun = 0;
  StreamHead head;
};

void expect_as_whole(const std::string& path, const CaptureOptions& options, std::size_t bytes) {
  const StreamFile whole = read_stream(path, options);
  Counted blocks;
  const StreamTail tail = read_in_blocks(path, options, blocks, bytes);
  blocks.stream.length = tail.length;
  RC_ASSERT(blocks.stream == whole.file.stream);
  RC_ASSERT(blocks.head.profile == whole.file.profile);
  RC_ASSERT(blocks.head.tick_hz == whole.file.stream.tick_hz);
  RC_ASSERT(tail.capture.has_value() == whole.capture.has_value());
  RC_ASSERT(blocks.head.capture.has_value() == whole.capture.has_value());
  if (!whole.capture) return;
  const CaptureSigns &a = *tail.capture, &b = *whole.capture;
  RC_ASSERT(a.sample_us == b.sample_us && a.exact == b.exact && a.starts_high == b.starts_high &&
            a.ends_high == b.ends_high && a.short_highs == b.short_highs && a.short_lows == b.short_lows &&
            a.unknown_levels == b.unknown_levels);
  RC_ASSERT(blocks.head.capture->exact == b.exact && blocks.head.capture->starts_high == b.starts_high);
}

RC_GTEST_PROP(Blocks, AreTheWholeStream, ()) {
  const Folder folder;
  const BurstStream stream = test::random_stream({1'000'000, 2'000'000, 10'000'000}, 1, Tick{1} << 20);
  const auto bytes = *rc::gen::element<std::size_t>(1, 2, 7, 100, 1 << 17);
  CaptureOptions options;
  options.invert = *rc::gen::arbitrary<bool>();
  write_file(folder.file("s.csv"), to_csv(stream));
  write_file(folder.file("s.vcd"), to_vcd(stream));
  write_file(folder.file("s.burst"), to_burst_file({stream, "t", "p", {}}));
  for (const char* name : {"s.csv", "s.vcd", "s.burst"})
    if (!options.invert || stream.length > 0) expect_as_whole(folder.file(name), options, bytes);
}

// More than one block, and a capture that is no exact stream.
TEST(Blocks, ManyOfThem) {
  const Folder folder;
  BurstStream stream{1'000'000, 0, {}};
  for (Tick i = 0; i < 3 * static_cast<Tick>(kBurstsInBlock) + 5; ++i)
    stream.bursts.push_back({10 + 50 * i, 1 + i % 30});
  stream.length = stream.bursts.back().end() + 3;
  std::string vcd = to_vcd(stream);
  vcd.replace(vcd.find("Burstloom exact"), 9, "Something");
  write_file(folder.file("c.vcd"), vcd);
  write_file(folder.file("s.csv"), to_csv(stream));
  for (const char* name : {"c.vcd", "s.csv"})
    for (const std::size_t bytes : {std::size_t{1000}, std::size_t{1} << 17}) {
      Counted blocks;
      const StreamTail tail = read_in_blocks(folder.file(name), {}, blocks, bytes);
      EXPECT_EQ(tail.capture.has_value(), name[0] == 'c');
      ASSERT_EQ(blocks.stream.bursts.size(), stream.bursts.size());
      EXPECT_EQ(blocks.begun, 1);
      if (!tail.capture) {
        EXPECT_EQ(blocks.stream.bursts, stream.bursts);
      }
      expect_as_whole(folder.file(name), {}, bytes);
    }
}

// One edge of an exact file was moved: all begins again, as the measurement that it is.
TEST(Blocks, AMarkThatIsWrongBeginsAgain) {
  const Folder folder;
  BurstStream stream{1'000'000, 500'000, {}};
  for (Tick i = 0; i < 9'000; ++i) stream.bursts.push_back({50 * i, 10});
  std::string vcd = to_vcd(stream);
  ASSERT_NE(vcd.find("#500000"), std::string::npos);
  vcd.replace(vcd.find("#500000"), 7, "#500001");
  write_file(folder.file("c.vcd"), vcd);
  Counted blocks;
  const StreamTail tail = read_in_blocks(folder.file("c.vcd"), {}, blocks);
  EXPECT_EQ(blocks.begun, 2);
  EXPECT_FALSE(tail.capture->exact);
  EXPECT_EQ(tail.length, 500'001);
  EXPECT_EQ(blocks.stream.bursts.size(), 9'000U);
}

class Pipe {
 public:
  Pipe(const Folder& folder, std::string content, std::size_t piece)
      : path_(folder.file("pipe")), writer_([this, content = std::move(content), piece] {
          std::ofstream out(path_, std::ios::binary);
          for (std::size_t at = 0; at < content.size() && out; at += piece)
            out.write(content.data() + at, static_cast<std::streamsize>(std::min(piece, content.size() - at)))
                .flush();
        }) {}
  Pipe(const Pipe&) = delete;
  Pipe& operator=(const Pipe&) = delete;
  ~Pipe() { writer_.join(); }
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  std::string path_;
  std::thread writer_;
};

TEST(Blocks, FromAPipe) {
  const Folder folder;
  ASSERT_EQ(::mkfifo(folder.file("pipe").c_str(), 0600), 0);
  const BurstStream stream{2'000'000, 2000, {{100, 80}, {1900, 100}}};
  const Bytes burst = to_burst_file({stream, "", "", {}});
  for (const std::string& content :
       {to_csv(stream), to_vcd(stream), std::string(burst.begin(), burst.end())}) {
    const Pipe pipe(folder, content, 3);
    Counted blocks;
    blocks.stream.length = 0;
    const Tick length = read_in_blocks(pipe.path(), {}, blocks).length;
    EXPECT_EQ(blocks.stream.bursts, stream.bursts);
    EXPECT_GE(length, 2000);
  }
  std::string moved = to_vcd(stream);
  moved.replace(moved.find("length=2000"), 11, "length=2001");
  const Pipe pipe(folder, moved, 1000);
  expect_error(Fault::bad_input, "a pipe cannot be read twice", [&] {
    Counted blocks;
    (void)read_in_blocks(pipe.path(), {}, blocks);
  });
}

// The line is the right one, however many blocks lie before it.
TEST(Blocks, ErrorsNameTheirLine) {
  const Folder folder;
  std::string csv = "# tick_hz=1000000\nstart_us,on_us\n",
              vcd =
                  "$timescale 1 us $end $var wire 1 ! gate $end\n"
                  "$enddefinitions $end\n";
  for (int i = 0; i < 20'000; ++i) {
    csv += std::to_string(100 * i) + ",10\n";
    vcd += "#" + std::to_string(100 * i) + " 1!\n#" + std::to_string(100 * i + 10) + " 0!\n";
  }
  write_file(folder.file("c.csv"), csv + "2000000,x\n5,5\n");
  write_file(folder.file("c.vcd"), vcd + "#1 1!\n");
  Counted blocks;
  for (const std::size_t bytes : {std::size_t{64}, std::size_t{1} << 17}) {
    expect_error(Fault::bad_input, "c.csv, line 20003: the on-time 'x'",
                 [&] { (void)read_in_blocks(folder.file("c.csv"), {}, blocks, bytes); });
    expect_error(Fault::bad_input, "c.vcd, line 40003: the time goes back",
                 [&] { (void)read_in_blocks(folder.file("c.vcd"), {}, blocks, bytes); });
  }
}

TEST(Blocks, APieceWithoutAnEndIsRefused) {
  const Folder folder;
  write_file(folder.file("c.csv"), "#" + std::string(std::size_t{1} << 25, 'a'));
  Counted blocks;
  expect_error(Fault::bad_input, "a line or word of more than 16 MiB",
               [&] { (void)read_in_blocks(folder.file("c.csv"), {}, blocks); });
}

RC_GTEST_PROP(Blocks, OfAFileAreItsPiecesInOrder, ()) {
  const Folder folder;
  const auto text = *rc::gen::container<std::string>(rc::gen::element('a', 'b', ' '));
  write_file(folder.file("f"), text);
  FileBlocks blocks(folder.file("f"), *rc::gen::inRange<std::size_t>(1, 20));
  RC_ASSERT(std::string(blocks.head(5)) == text.substr(0, 5));
  for (int round = 0; round < 2; ++round) {
    std::string all;
    for (std::string_view piece; !(piece = blocks.next([](char c) { return c == ' '; })).empty();
         all += piece)
      RC_ASSERT(piece.back() == ' ' || all.size() + piece.size() == text.size());
    RC_ASSERT(all == text);
    RC_ASSERT(blocks.again());
  }
  const Bytes rest = blocks.rest();
  RC_ASSERT(std::string(rest.begin(), rest.end()) == text);
}

}  // namespace
}  // namespace burstloom
