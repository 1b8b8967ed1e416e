#include <fcntl.h>
#include <sndfile.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <memory>
#include <new>
#include <optional>
#include <system_error>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/sound.hpp"
#include "usable.hpp"

namespace burstloom {
namespace {

namespace fs = std::filesystem;

constexpr sf_count_t longest_s = 6 * 3600;
constexpr int lowest_rate_hz = 8000;
constexpr int highest_rate_hz = 192000;
constexpr sf_count_t block_samples = 65536;
constexpr sf_count_t always_trusted_frames = 1 << 24;  // 64 MB of floats
constexpr sf_count_t trusted_frames_a_byte = 32;       // speech codecs at 12 kbit/s need as many
constexpr float unscaled_peak = 4.0F;  // decoders overshoot full scale a little, never this much

struct CloseSound {
  void operator()(SNDFILE* file) const { sf_close(file); }
};
using OpenSound = std::unique_ptr<SNDFILE, CloseSound>;

/// libsndfile's MPEG decoder writes its own complaints to standard error; what is said there is ours to say,
/// in one sentence. While this lives, standard error leads nowhere, for the whole process.
class HushedErrorOutput {
 public:
  HushedErrorOutput() : kept_(fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, 3)) {
    const int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
    if (kept_ >= 0 && nowhere >= 0) dup2(nowhere, STDERR_FILENO);
    if (nowhere >= 0) close(nowhere);
  }
  HushedErrorOutput(const HushedErrorOutput&) = delete;
  HushedErrorOutput& operator=(const HushedErrorOutput&) = delete;
  ~HushedErrorOutput() {
    if (kept_ < 0) return;
    dup2(kept_, STDERR_FILENO);
    close(kept_);
  }

 private:
  int kept_;
};

/// libsndfile's own words as a clause: one line, no full stop.
std::string libsndfile_says(SNDFILE* file) {
  std::string text = printable(sf_strerror(file), 160);
  while (!text.empty() && (text.back() == '.' || text.back() == ' ')) text.pop_back();
  return "libsndfile says: " + text;
}

void require_regular_file(const std::string& path) {
  std::error_code ignored;
  const fs::file_status status = fs::status(path, ignored);
  if (status.type() == fs::file_type::not_found)
    throw bad_input("there is no such sound file", printable(path, 200), "check the name");
  if (!fs::is_regular_file(status))
    throw bad_input("this is a folder or a device, not a sound file", printable(path, 200),
                    "name a sound file");
  if (!std::ifstream(path, std::ios::binary))
    throw bad_input("the sound file may not be read", printable(path, 200), "check its permissions");
}

/// libsndfile takes a headerless file for a sound by the end of its name alone; those are refused here.
bool has_no_header(const SF_INFO& info) {
  const int container = info.format & SF_FORMAT_TYPEMASK;
  const int coding = info.format & SF_FORMAT_SUBMASK;
  return container == SF_FORMAT_RAW || coding == SF_FORMAT_VOX_ADPCM;
}

OpenSound open_sound(const std::string& path, SF_INFO& info) {
  require_regular_file(path);
  const HushedErrorOutput hushed;
  OpenSound file(sf_open(path.c_str(), SFM_READ, &info));
  const char* const what_to_do = "give a WAV, AIFF, FLAC, OGG, Opus or MP3 file";
  if (!file)
    throw bad_input("this is no sound file (" + libsndfile_says(nullptr) + ")", printable(path, 200),
                    what_to_do);
  if (has_no_header(info))
    throw bad_input("this is no sound file (it has no header)", printable(path, 200), what_to_do);
  return file;
}

void require_known_shape(const std::string& path, const SF_INFO& info) {
  if (info.samplerate < lowest_rate_hz || info.samplerate > highest_rate_hz)
    throw bad_input(
        "the sound's sample rate is " + std::to_string(info.samplerate) + " Hz, outside 8 to 192 kHz",
        printable(path, 200), "resample it");
  if (info.channels < 1)
    throw bad_input("the sound has no channel", printable(path, 200), "write the file again");
}

/// Frames a header promises, or -1 where the container does not know (then libsndfile gives a huge number).
sf_count_t promised_frames(const SF_INFO& info) {
  return info.frames >= 0 && info.frames < SF_COUNT_MAX / 2 ? info.frames : -1;
}

Error too_long(const std::string& path) {
  return bad_input("the sound is longer than six hours", printable(path, 200), "cut it into songs");
}

struct Oddities {
  std::int64_t replaced = 0;
  float peak = 0;
  double first_energy = 0, mean_energy = 0;
  /// Channels of opposite phase are silent in their mean, though they are loud in any room.
  [[nodiscard]] bool cancels() const { return mean_energy < 0.1 * first_energy; }
};

enum class Fold { mean, first_channel };

/// The mean of the channels of each frame, or the first of them, appended to `mono`.
void append_folded(const float* interleaved, sf_count_t frames, int channels, Fold fold,
                   std::vector<float>& mono, Oddities& odd) {
  for (sf_count_t frame = 0; frame < frames; ++frame) {
    double sum = 0, first = 0;
    for (int c = 0; c < channels; ++c) {
      const float sample = *interleaved++;
      if (!usable(sample)) {
        ++odd.replaced;
        continue;
      }
      odd.peak = std::max(odd.peak, std::abs(sample));
      sum += static_cast<double>(sample);
      if (c == 0) first = static_cast<double>(sample);
    }
    const double mean = sum / channels;
    odd.first_energy += first * first;
    odd.mean_energy += mean * mean;
    mono.push_back(static_cast<float>(fold == Fold::mean ? mean : first));
  }
}

/// How much room to make at once: what the header promises, as far as a file of this size can keep it.
std::size_t room_for(const SF_INFO& info, const std::string& path) {
  std::error_code failed;
  const std::uintmax_t bytes = fs::file_size(path, failed);
  const std::uintmax_t most = failed ? 0 : std::min<std::uintmax_t>(bytes, std::uintmax_t{1} << 40);
  const sf_count_t trusted = static_cast<sf_count_t>(most) * trusted_frames_a_byte;
  return static_cast<std::size_t>(
      std::clamp<sf_count_t>(promised_frames(info), 0, std::max(always_trusted_frames, trusted)));
}

/// Reads to the end, whatever the header promises: MP3 and OGG may not know their length before it.
Oddities read_all(SNDFILE* file, const SF_INFO& info, const std::string& path, Fold fold,
                  std::vector<float>& mono) {
  const sf_count_t most = longest_s * info.samplerate;
  const sf_count_t block = std::max<sf_count_t>(1, block_samples / info.channels);
  std::vector<float> interleaved(static_cast<std::size_t>(block * info.channels));
  mono.reserve(room_for(info, path));
  Oddities odd;
  for (;;) {
    const sf_count_t got = sf_readf_float(file, interleaved.data(), block);
    if (got <= 0) return odd;
    if (static_cast<sf_count_t>(mono.size()) + got > most) throw too_long(path);
    append_folded(interleaved.data(), got, info.channels, fold, mono, odd);
  }
}

std::string title_of(SNDFILE* file, const std::string& path) {
  const char* tag = sf_get_string(file, SF_STR_TITLE);
  const std::string title = tag != nullptr ? printable(tag, 300) : std::string();
  const bool blank =
      std::all_of(title.begin(), title.end(), [](unsigned char c) { return std::isspace(c) != 0; });
  return blank ? printable(fs::path(path).stem().string()) : title;
}

/// Bytes that a RIFF or FORM header claims and the file lacks; 0 for other containers and for sizes that
/// streaming writers leave open. libsndfile quietly reads what is there.
std::uint64_t missing_bytes(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::array<unsigned char, 8> head{};
  if (!file.read(reinterpret_cast<char*>(head.data()), static_cast<std::streamsize>(head.size()))) return 0;
  const std::string name(head.begin(), head.begin() + 4);
  if (name != "RIFF" && name != "FORM" && name != "RIFX") return 0;
  std::uint64_t claimed = 0;
  for (std::size_t i = 0; i < 4; ++i) claimed = claimed << 8 | head.at(name == "RIFF" ? 7 - i : 4 + i);
  std::error_code failed;
  const std::uintmax_t size = fs::file_size(path, failed);
  const bool open_ended = claimed >= 0x7FFFFFF0;
  return failed || open_ended || claimed + 8 <= size ? 0 : claimed + 8 - size;
}

void remark_on_end(SNDFILE* file, const SF_INFO& info, const std::string& path, Sound& sound) {
  const auto read = static_cast<sf_count_t>(sound.samples.size());
  if (sf_error(file) != SF_ERR_NO_ERROR)
    sound.remarks.push_back("the sound is damaged after " + std::to_string(read) +
                            " samples: " + libsndfile_says(file));
  else if (promised_frames(info) > read)
    sound.remarks.push_back("the sound ends early: its header promises " + std::to_string(info.frames) +
                            " samples, the file has " + std::to_string(read));
  if (const std::uint64_t missing = missing_bytes(path); missing > 0)
    sound.remarks.push_back("the file is cut off: its header says " + std::to_string(missing) +
                            " bytes more than it has");
}

void remark_on_samples(const Oddities& odd, Sound& sound) {
  if (odd.replaced > 0)
    sound.remarks.push_back(std::to_string(odd.replaced) +
                            " samples were not a number or far out of range and were replaced by 0");
  if (odd.peak > unscaled_peak)
    sound.remarks.push_back("the loudest sample is " + std::to_string(std::lround(odd.peak)) +
                            " times full scale: levels are not to be trusted");
}

void take_first_channel(SNDFILE* file, const SF_INFO& info, const std::string& path, Sound& sound) {
  const bool again = sf_seek(file, 0, SEEK_SET) == 0;
  if (again) {
    sound.samples.clear();
    read_all(file, info, path, Fold::first_channel, sound.samples);
  }
  sound.remarks.push_back(std::string("the channels are of opposite phase and cancel one another") +
                          (again ? ": the first alone is heard" : ""));
}

Sound read_opened(SNDFILE* file, const SF_INFO& info, const std::string& path) {
  require_known_shape(path, info);
  if (promised_frames(info) > longest_s * info.samplerate) throw too_long(path);
  Sound sound;
  sound.rate_hz = info.samplerate;
  std::optional<HushedErrorOutput> hushed;
  if ((info.format & SF_FORMAT_TYPEMASK) == SF_FORMAT_MPEG) hushed.emplace();
  const Oddities odd = read_all(file, info, path, Fold::mean, sound.samples);
  if (sound.samples.empty()) {
    const std::string why = sf_error(file) != SF_ERR_NO_ERROR ? " (" + libsndfile_says(file) + ")" : "";
    throw bad_input("the sound file has no samples" + why, printable(path, 200), "record or export it again");
  }
  sound.title = title_of(file, path);
  remark_on_end(file, info, path, sound);
  remark_on_samples(odd, sound);
  if (info.channels > 1 && odd.cancels()) take_first_channel(file, info, path, sound);
  return sound;
}

}  // namespace

Sound read_sound(const std::string& path) {
  SF_INFO info{};
  const OpenSound file = open_sound(path, info);
  try {
    return read_opened(file.get(), info, path);
  } catch (const std::bad_alloc&) {
    throw Error(Fault::machine, "there is not enough memory for the whole sound", printable(path, 200),
                "cut it shorter or lower its sample rate");
  }
}

}  // namespace burstloom
