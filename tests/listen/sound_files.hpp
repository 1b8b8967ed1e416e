// Sound files made on the spot, by libsndfile, in a folder that goes away with the test.
#pragma once

#include <gtest/gtest.h>
#include <sndfile.h>
#include <unistd.h>

#include <cstdint>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/listen/sound.hpp"

namespace burstloom::test {

class SoundFiles : public testing::Test {
 protected:
  SoundFiles() {
    std::string name = (std::filesystem::temp_directory_path() / "burstloom-listen-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
    folder_ = name;
  }
  ~SoundFiles() override {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }

  [[nodiscard]] std::string path(const std::string& name) const { return (folder_ / name).string(); }

  /// Interleaved samples into a file of libsndfile's format; `title` as metadata unless empty.
  std::string write_sound(const std::string& name, int format, int rate_hz, int channels,
                          const std::vector<float>& interleaved, const std::string& title = "") const {
    SF_INFO info{};
    info.samplerate = rate_hz;
    info.channels = channels;
    info.format = format;
    SNDFILE* file = sf_open(path(name).c_str(), SFM_WRITE, &info);
    EXPECT_NE(file, nullptr) << name << ": " << sf_strerror(nullptr);
    if (file == nullptr) return path(name);
    sf_command(file, SFC_SET_CLIPPING, nullptr, SF_TRUE);
    if (!title.empty()) sf_set_string(file, SF_STR_TITLE, title.c_str());
    const auto frames = static_cast<sf_count_t>(interleaved.size()) / channels;
    EXPECT_EQ(sf_writef_float(file, interleaved.data(), frames), frames) << name;
    EXPECT_EQ(sf_close(file), 0) << name;
    return path(name);
  }

  std::string write_bytes(const std::string& name, const Bytes& bytes) const {
    std::ofstream(path(name), std::ios::binary)
        .write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    return path(name);
  }
  std::string write_text(const std::string& name, const std::string& text) const {
    return write_bytes(name, Bytes(text.begin(), text.end()));
  }

  /// The error that reading throws; fails the test if it throws none.
  static Error error_of(const std::string& file) {
    try {
      (void)read_sound(file);
    } catch (const Error& error) {
      return error;
    }
    ADD_FAILURE() << file << " was read";
    return bad_input("", "", "");
  }

 private:
  std::filesystem::path folder_;
};

}  // namespace burstloom::test
