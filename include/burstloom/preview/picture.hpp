// Still pictures of a stream: the timeline against its limits and spectrograms, on one time axis.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "burstloom/check/judge.hpp"
#include "burstloom/preview/spectrum.hpp"
#include "burstloom/preview/timeline.hpp"

namespace burstloom {

enum class PictureKind { png, svg };
/// By the ending of `path`, .png or .svg; throws Error (usage) for any other.
[[nodiscard]] PictureKind picture_kind(const std::string& path);

struct NamedSpectrogram {
  std::string name;  ///< "source", "sound sketch"
  Spectrogram spectrogram;
};

/// What a picture shows; it needs a timeline, or a spectrogram, or both (then of the same stretch of time).
struct PictureContent {
  std::string title;                   ///< any text: shown, cut to one line
  std::optional<Judgement> judgement;  ///< shown as one sentence above all
  std::optional<Timeline> timeline;    ///< best with 1200 columns
  std::vector<NamedSpectrogram> spectrograms;
};

/// The file's bytes. Text is drawn as outlines, so a picture holds no markup from a title; limits are dashed
/// and labelled, what exceeds them is marked with bars and triangles, so that no meaning hangs on colour
/// alone. Throws Error: usage when there is nothing to show, machine when there is no memory.
[[nodiscard]] std::string picture(const PictureContent& content, PictureKind kind);

}  // namespace burstloom
