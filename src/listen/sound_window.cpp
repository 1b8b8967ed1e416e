#include "sound_window.hpp"

#include <algorithm>

#include "usable.hpp"

namespace burstloom {

void SoundWindow::read_to(std::int64_t past) {
  if (!reader_) reader_ = open_();
  while (read_past() < past) {
    const std::span<const float> block = reader_->next();
    if (block.empty()) return;
    // Seldom, so that each sample is moved about once.
    if (kept_.size() > 2 * keep_) {
      const std::size_t gone = kept_.size() - keep_;
      kept_.erase(kept_.begin(), kept_.begin() + static_cast<std::ptrdiff_t>(gone));
      kept_first_ += static_cast<std::int64_t>(gone);
    }
    const std::size_t before = kept_.size();
    kept_.resize(before + block.size());
    std::transform(block.begin(), block.end(), kept_.begin() + static_cast<std::ptrdiff_t>(before),
                   usable_or_zero);
  }
}

std::span<const float> SoundWindow::at(std::ptrdiff_t first, std::size_t count) {
  keep_ = std::max(keep_, count);
  const std::int64_t wanted = std::max<std::int64_t>(0, first);
  if (wanted < kept_first_) {
    reader_ = nullptr;
    kept_.clear();
    kept_first_ = 0;
  }
  const auto size = static_cast<std::int64_t>(count);
  read_to(first + size);
  if (first >= kept_first_ && first + size <= read_past())
    return std::span<const float>(kept_).subspan(static_cast<std::size_t>(first - kept_first_), count);
  padded_.assign(count, 0.0F);
  for (std::int64_t at = std::max(first + std::int64_t{0}, kept_first_);
       at < std::min(first + size, read_past()); ++at)
    padded_[static_cast<std::size_t>(at - first)] = kept_[static_cast<std::size_t>(at - kept_first_)];
  return padded_;
}

}  // namespace burstloom
