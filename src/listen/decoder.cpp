#include "decoder.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cctype>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <optional>
#include <system_error>

#include "burstloom/common/error.hpp"
#include "sound_scan.hpp"

namespace burstloom {
namespace {

namespace fs = std::filesystem;

constexpr sf_count_t block_samples = 65536;
constexpr float unscaled_peak = 4.0F;  // decoders overshoot full scale a little, never this much

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
  if (status.type() == fs::file_type::not_found) throw no_such_file(path);
  if (!fs::is_regular_file(status))
    throw bad_input("this is a folder or a device, not a sound file", printable(path, 200),
                    "name a sound file");
  if (!std::ifstream(path, std::ios::binary))
    throw bad_input("you may not read this file", printable(path, 200),
                    "change its permissions, or copy it to a folder of yours");
}

/// libsndfile takes a headerless file for a sound by the end of its name alone; those are refused here.
bool has_no_header(const SF_INFO& info) {
  const int container = info.format & SF_FORMAT_TYPEMASK;
  const int coding = info.format & SF_FORMAT_SUBMASK;
  return container == SF_FORMAT_RAW || coding == SF_FORMAT_VOX_ADPCM;
}

std::unique_ptr<SoundIn> open_sound(const std::string& path, SF_INFO& info) {
  require_regular_file(path);
  const HushedErrorOutput hushed;
  auto file = std::make_unique<SoundIn>(path, info);
  file->require_read();
  const char* const what_to_do = "give a WAV, AIFF, FLAC, OGG, Opus or MP3 file";
  if (file->get() == nullptr)
    throw bad_input("this is no sound file (" + libsndfile_says(nullptr) + ")", printable(path, 200),
                    what_to_do);
  if (has_no_header(info))
    throw bad_input("this is no sound file (it has no header)", printable(path, 200), what_to_do);
  return file;
}

void require_known_shape(const std::string& path, const SF_INFO& info) {
  if (info.samplerate < kLowestSound_hz || info.samplerate > kHighestSound_hz)
    throw bad_input(
        "the sound's sample rate is " + std::to_string(info.samplerate) + " Hz, outside 8 to 192 kHz",
        printable(path, 200), "resample it");
  if (info.channels < 1)
    throw bad_input("the sound has no channel", printable(path, 200), "write the file again");
}

Error too_long(const std::string& path) {
  return bad_input("the sound is longer than six hours", printable(path, 200), "cut it into songs");
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

// Whatever its sign; what is no number counts as larger than any. By the bits, which are in the order of the
// magnitudes: processors compare whole vectors of those at once.
float largest_of(std::span<const float> samples) {
  std::int32_t largest = 0;
  for (const float sample : samples)
    largest = std::max(largest, std::bit_cast<std::int32_t>(sample) & 0x7FFFFFFF);
  return std::bit_cast<float>(largest);
}

}  // namespace

Decoder::Decoder(const std::string& path) : path_(path), file_(open_sound(path, info_)) {
  require_known_shape(path, info_);
  if (promised() > kLongestSound_s * info_.samplerate) throw too_long(path);
  interleaved_.resize(
      static_cast<std::size_t>(std::max<sf_count_t>(1, block_samples / info_.channels) * info_.channels));
}

// -1 where the container does not know: then libsndfile gives a huge number.
std::int64_t Decoder::promised() const {
  return info_.frames >= 0 && info_.frames < SF_COUNT_MAX / 2 ? info_.frames : -1;
}

std::string Decoder::title() const {
  return title_of(file_->get(), path_);
}

sf_count_t Decoder::read_interleaved() {
  std::optional<HushedErrorOutput> hushed;
  if ((info_.format & SF_FORMAT_TYPEMASK) == SF_FORMAT_MPEG) hushed.emplace();
  return sf_readf_float(file_->get(), interleaved_.data(),
                        static_cast<sf_count_t>(interleaved_.size()) / info_.channels);
}

// To the end, whatever the header promises: MP3 and OGG may not know their length before it.
std::span<const float> Decoder::next(Fold fold) {
  const sf_count_t frames = ended_ ? 0 : read_interleaved();
  file_->require_read();
  ended_ = frames <= 0;  // past damage a decoder may find more; every reader stops at the same place
  if (ended_) return {};
  read_ += frames;
  if (read_ > kLongestSound_s * info_.samplerate) throw too_long(path_);
  const std::span<float> read(interleaved_.data(), static_cast<std::size_t>(frames * info_.channels));
  look_over(read);
  fold_down(read, fold);
  return mono_;
}

void Decoder::look_over(std::span<float> samples) {
  float peak = largest_of(samples);
  if (!usable(peak)) {
    for (float& sample : samples)
      if (!usable(sample)) sample = 0, ++oddities_.replaced;
    peak = largest_of(samples);
  }
  oddities_.peak = std::max(oddities_.peak, peak);
}

void Decoder::fold_down(std::span<const float> interleaved, Fold fold) {
  const auto channels = static_cast<std::size_t>(info_.channels);
  mono_.resize(interleaved.size() / channels);
  const float* frame = interleaved.data();
  for (float& sample : mono_) {
    double sum = 0;
    for (std::size_t c = 0; c < channels; ++c) sum += static_cast<double>(frame[c]);
    const double mean = sum / static_cast<double>(channels), first = static_cast<double>(frame[0]);
    oddities_.first_energy += first * first;
    oddities_.mean_energy += mean * mean;
    sample = static_cast<float>(fold == Fold::mean ? mean : first);
    frame += channels;
  }
}

std::string Decoder::damage() const {
  return sf_error(file_->get()) != SF_ERR_NO_ERROR ? libsndfile_says(file_->get()) : "";
}

std::vector<std::string> Decoder::remarks() const {
  std::vector<std::string> remarks;
  if (const std::string damaged = damage(); !damaged.empty())
    remarks.push_back("the sound is damaged after " + std::to_string(read_) + " samples: " + damaged);
  else if (promised() > read_)
    remarks.push_back("the sound ends early: its header promises " + std::to_string(info_.frames) +
                      " samples, the file has " + std::to_string(read_));
  if (const std::uint64_t missing = missing_bytes(path_); missing > 0)
    remarks.push_back("the file is cut off: its header says " + std::to_string(missing) +
                      " bytes more than it has");
  if (oddities_.replaced > 0) remarks.push_back(replaced_by_zero(oddities_.replaced));
  if (oddities_.peak > unscaled_peak)
    remarks.push_back("the loudest sample is " + std::to_string(std::lround(oddities_.peak)) +
                      " times full scale: levels are not to be trusted");
  return remarks;
}

}  // namespace burstloom
