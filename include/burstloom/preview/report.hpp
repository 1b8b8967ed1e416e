// The report: one HTML page that shows and plays what a stream will do, from disk, without a network.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "burstloom/check/judge.hpp"
#include "burstloom/coil/profile.hpp"
#include "burstloom/preview/energy_curves.hpp"
#include "burstloom/preview/picture.hpp"
#include "burstloom/preview/spectrum.hpp"
#include "burstloom/stream/account.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// A sound to play in the page.
struct ReportSound {
  std::string name;  ///< "source", "sound sketch"
  std::string type;  ///< MIME type, such as "audio/mpeg"
  Bytes file;
};

/// What a table of the stream would take on a target.
struct ReportTable {
  std::string target, chip;
  std::int64_t table_bytes = 0, flash_used = 0, flash_of = 0;
  double fits_until_s = 0;
  std::string refused{};  ///< why the target cannot play it at all; empty if it can
};

/// What a report shows. `stream` and `account` must live until `report` returns.
struct ReportContent {
  std::string title;   ///< any text; shown as text
  std::string limits;  ///< the same: "judged by the limits of ..."
  std::string source;  ///< the file's name that was judged
  const BurstStream& stream;
  const Account& account;
  const Profile& profile;
  const Judgement& judgement;
  std::string check_json;  ///< the object of `check --json`: the page shows its figures and no others
  std::vector<BurstEffect> effects;
  EnergyCurves curves;
  Spectrum gate;
  std::vector<NamedSpectrogram> spectrograms;
  std::vector<ReportSound> sounds;
  std::vector<ReportTable> tables;
};

/// The page. Text of files and profiles cannot become markup or script; the page forbids itself any request.
/// Throws Error (bad_input) for a stream out of order.
[[nodiscard]] std::string report(const ReportContent& content);

/// A mono sound (samples times `gain`) as MP3, or as FLAC at rates that MP3 does not have. Throws Error
/// (machine) when the library fails.
[[nodiscard]] ReportSound report_sound(const std::string& name, std::span<const float> samples, int rate_hz,
                                       double gain);

}  // namespace burstloom
