// Which MIDI ports are listened to: chosen by number or name, opened, lost, and opened again when they come
// back.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "burstloom/live/inlet.hpp"

namespace burstloom {

/// A port that is listened to, until the object goes. After that nothing more is heard.
class OpenPort {
 public:
  virtual ~OpenPort() = default;
  /// False when the system behind it has ended; there is no way back.
  [[nodiscard]] virtual bool is_alive() const { return true; }
  /// Whether anybody is connected to it, where that can be told: a program that ends says nothing.
  [[nodiscard]] virtual bool has_sender() const { return true; }
};

/// The machine's MIDI, or one that a test makes up.
class MidiSystem {
 public:
  virtual ~MidiSystem() = default;
  /// The ports that can be listened to now; none where there is no MIDI.
  [[nodiscard]] virtual std::vector<std::string> names() = 0;
  /// Throws Error (machine). The inlet hears from a thread of the port's own, at times by `live_now_s`.
  [[nodiscard]] virtual std::unique_ptr<OpenPort> open(const std::string& name, Inlet& inlet) = 0;
  /// A port of our own, for other programs to play into. Throws Error (machine).
  [[nodiscard]] virtual std::unique_ptr<OpenPort> open_virtual(const std::string& name, Inlet& inlet) = 0;
};

/// Through RtMidi: JACK and ALSA, whichever of them runs.
[[nodiscard]] std::unique_ptr<MidiSystem> midi_of_this_machine();

/// The one port that `wish` means: its number, from 1 on, or a part of its name. Throws Error: usage, naming
/// the ports that there are; machine where there are none.
[[nodiscard]] std::string chosen_port(const std::vector<std::string>& names, const std::string& wish);

class MidiInputs {
 public:
  /// `ring_bell` as in `Inlet`.
  MidiInputs(MidiSystem& system, std::function<void()> ring_bell);

  /// What `chosen_port` and opening throw; usage for more than kMostPorts, and for a port chosen twice.
  void listen_to(const std::string& wish);
  void offer(const std::string& name);

  /// To be called a few times a second: ports whose device has gone, or whose sender has left, are let go of;
  /// those back are opened again.
  void look(double now_s);

  struct Port {
    std::string name;
    bool present = true;
  };
  [[nodiscard]] std::vector<Port> ports() const;
  [[nodiscard]] std::vector<Inlet*> inlets() const;

 private:
  struct Socket {
    std::string name;
    bool is_ours;  ///< a virtual port
    std::unique_ptr<Inlet> inlet;
    std::unique_ptr<OpenPort> port;     ///< nothing while the device is away
    std::vector<std::string> beside{};  ///< all ports that there were when the device was last seen
    bool had_sender = false;
  };
  Socket& new_socket(const std::string& name, bool is_ours);
  void look_after(Socket& socket, const std::vector<std::string>& names, double now_s);
  [[nodiscard]] bool may_be(const Socket& socket, const std::string& name) const;
  void open_again(Socket& socket, const std::vector<std::string>& names);

  MidiSystem& system_;
  std::function<void()> bell_;
  std::vector<Socket> sockets_;
};

}  // namespace burstloom
