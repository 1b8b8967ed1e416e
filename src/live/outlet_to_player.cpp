// The player on a serial line.
#include "burstloom/common/error.hpp"
#include "burstloom/live/outlet.hpp"

namespace burstloom {
namespace {

constexpr double kBlocked_s = 0.1;

class Player : public Outlet {
 public:
  explicit Player(const SerialOutletOptions& options)
      : device_(printable(options.device, 200)),
        port_(options.device, options.baud),
        sender_(options.offer, options.tick_hz, device_, options.session, static_cast<double>(options.baud)) {
  }

  void serve(double now_s, std::span<const Burst> bursts) override {
    sender_.append(bursts);
    if (unsent_.empty()) unsent_ = sender_.to_send(now_s);
    const std::size_t before = unsent_.size();
    sender_.receive(now_s, port_.exchange(unsent_, 0));
    if (!moved_s_ || unsent_.empty() || unsent_.size() < before) moved_s_ = now_s;
    if (now_s - *moved_s_ <= kBlocked_s) return;
    port_.drop_unsent();
    throw Error(Fault::machine, "the serial line has taken nothing for a tenth of a second", device_,
                "the player falls silent by itself; look at cable and power");
  }
  std::optional<Tick> player_now(double now_s) override { return sender_.player_now(now_s); }
  // What waits in the line's own buffer would come before the stop.
  void stop() override {
    sender_.stop();
    port_.drop_unsent();
    unsent_.clear();
  }
  [[nodiscard]] LinkFigures figures() const override {
    LinkFigures now;
    now.has_link = true;
    now.playing = sender_.phase() == LiveSender::Phase::playing;
    now.over = sender_.phase() == LiveSender::Phase::over;
    if (sender_.player()) now.status = sender_.status();
    now.dropped = sender_.dropped();
    now.sent_again = sender_.frames_sent_again();
    return now;
  }
  void require_good_end() const override;

 private:
  std::string device_;
  SerialPort port_;
  LiveSender sender_;
  Bytes unsent_;
  std::optional<double> moved_s_;  ///< when the line last took something, from the first `serve` on
};

void Player::require_good_end() const {
  const PlayerError why = say_ending(sender_);
  if (why.what.empty() || sender_.ending() == LiveSender::Ending::stopped) return;
  throw Error(Fault::machine, why.what, device_,
              why.what_to_do.empty() ? "start again when it may" : why.what_to_do);
}

}  // namespace

std::unique_ptr<Outlet> outlet_to_player(const SerialOutletOptions& options) {
  return std::make_unique<Player>(options);
}

}  // namespace burstloom
