// A sound whose readers tell how far they are.
#pragma once

#include <memory>
#include <utility>

#include "burstloom/listen/sound_file.hpp"

namespace burstloom {

/// Nobody knows beforehand how often a way of listening goes through a sound, and the first time is the
/// longest: each time counts as half of what is left to do.
class ToldSource : public SoundSource {
 public:
  /// The source must outlive this; `tell` must not be empty.
  ToldSource(const SoundSource& source, TellShare tell) : source_(source), tell_(std::move(tell)) {}
  [[nodiscard]] int rate_hz() const override { return source_.rate_hz(); }
  [[nodiscard]] const SoundFigures& figures() const override { return source_.figures(); }
  [[nodiscard]] std::unique_ptr<SoundReader> reader() const override {
    from_ = from_ + (1 - from_) / 2 * (begun_ ? 1 : 0);
    begun_ = true;
    return std::make_unique<Reader>(*this);
  }

 private:
  class Reader : public SoundReader {
   public:
    explicit Reader(const ToldSource& told)
        : tell_(told.tell_),
          reader_(told.source_.reader()),
          samples_(static_cast<double>(told.figures().samples)),
          from_(told.from_) {}
    std::span<const float> next() override {
      const auto block = reader_->next();
      read_ += static_cast<double>(block.size());
      if (samples_ > 0) tell_(from_ + (1 - from_) / 2 * read_ / samples_);
      return block;
    }

   private:
    const TellShare& tell_;
    std::unique_ptr<SoundReader> reader_;
    double samples_, from_, read_ = 0;
  };

  const SoundSource& source_;
  TellShare tell_;
  mutable double from_ = 0;
  mutable bool begun_ = false;
};

}  // namespace burstloom
