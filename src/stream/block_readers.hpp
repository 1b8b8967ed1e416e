// The readers behind both the whole-file functions and `read_in_blocks`: one parser a format.
#pragma once

#include <functional>
#include <span>
#include <string>
#include <string_view>

#include "burstloom/stream/blocks.hpp"

namespace burstloom {

/// Gives the text block by block, each cut after a character that ends a line or word; nothing at the end.
using TextSource = std::function<std::string_view(bool (*ends)(char))>;

/// A text that is in memory already.
[[nodiscard]] inline TextSource all_at_once(std::string_view text) {
  return [text](bool (*)(char)) mutable {
    const std::string_view all = text;
    text = {};
    return all;
  };
}

[[nodiscard]] StreamTail read_csv(const TextSource& source, const std::string& name, BurstSink& sink);
/// Throws NotAsMarked when the mark of an exact file is trusted and wrong; for WAV, too.
[[nodiscard]] StreamTail read_vcd(TextSource source, const std::string& name, const CaptureOptions& options,
                                  BurstSink& sink, bool trust_mark);
[[nodiscard]] StreamTail read_wav(const std::string& path, const CaptureOptions& options, BurstSink& sink,
                                  bool trust_mark);
[[nodiscard]] StreamTail read_burst(std::span<const std::uint8_t> bytes, const std::string& name,
                                    BurstSink& sink);

}  // namespace burstloom
