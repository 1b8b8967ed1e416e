#include "burstloom/live/outlet.hpp"

namespace burstloom {
namespace {

class Nothing : public Outlet {
 public:
  explicit Nothing(std::int64_t tick_hz) : tick_hz_(static_cast<double>(tick_hz)) {}

  void serve(double now_s, std::span<const Burst>) override {
    if (!began_s_) began_s_ = now_s;
  }
  std::optional<Tick> player_now(double now_s) override {
    if (!began_s_ || over_) return std::nullopt;
    return static_cast<Tick>((now_s - *began_s_) * tick_hz_);
  }
  void stop() override { over_ = true; }
  [[nodiscard]] LinkFigures figures() const override {
    LinkFigures now;
    now.playing = began_s_.has_value() && !over_;
    now.over = over_;
    return now;
  }

 private:
  double tick_hz_;
  std::optional<double> began_s_;
  bool over_ = false;
};

}  // namespace

std::unique_ptr<Outlet> outlet_to_nothing(std::int64_t tick_hz) {
  return std::make_unique<Nothing>(tick_hz);
}

}  // namespace burstloom
