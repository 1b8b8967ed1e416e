// MIDI ports through RtMidi, and its manners: constructors throw where a system is missing, a JACK client
// without a server throws only when it opens a port, and the libraries below it write to standard error.
#include <RtMidi.h>
#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <optional>

#include "burstloom/common/error.hpp"
#include "burstloom/live/clock.hpp"
#include "burstloom/live/midi_inputs.hpp"

namespace burstloom {
namespace {

constexpr const char* kClient = "burstloom";

// Keeps the libraries' own words away from the terminal; ours come through errors.
class Quiet {
 public:
  Quiet()
      : kept_(::fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, 0)),
        nowhere_(::open("/dev/null", O_WRONLY | O_CLOEXEC)) {
    if (kept_ >= 0 && nowhere_ >= 0) ::dup2(nowhere_, STDERR_FILENO);
  }
  Quiet(const Quiet&) = delete;
  Quiet& operator=(const Quiet&) = delete;
  ~Quiet() {
    if (kept_ >= 0) ::dup2(kept_, STDERR_FILENO);
    for (const int file : {kept_, nowhere_})
      if (file >= 0) ::close(file);
  }

 private:
  int kept_, nowhere_;
};

void ignore_error(RtMidiError::Type, const std::string&, void*) {}

void hear(double, std::vector<unsigned char>* message, void* inlet) {
  if (message != nullptr) static_cast<Inlet*>(inlet)->hear(live_now_s(), *message);
}

class RtPort : public OpenPort {
 public:
  // System exclusive and timing clock are left out, active sensing is wanted.
  RtPort(RtMidi::Api api, Inlet& inlet) : in(api, kClient) {
    in.ignoreTypes(true, true, false);
    in.setCallback(hear, &inlet);
  }
  ~RtPort() override {
    const Quiet quiet;
    in.closePort();
  }
  RtMidiIn in;
};

class RtSystem : public MidiSystem {
 public:
  RtSystem() {
    const Quiet quiet;
    std::vector<RtMidi::Api> compiled;
    RtMidi::getCompiledApi(compiled);
    for (const RtMidi::Api api : compiled) try {
        scouts_.push_back({api, std::make_unique<RtMidiIn>(api, std::string(kClient) + "-look")});
        scouts_.back().in->setErrorCallback(ignore_error);
      } catch (const RtMidiError&) {
        // This one is not on this machine.
      }
  }
  RtSystem(const RtSystem&) = delete;
  RtSystem& operator=(const RtSystem&) = delete;
  ~RtSystem() override {
    const Quiet quiet;
    scouts_.clear();
  }

  std::vector<std::string> names() override {
    const Quiet quiet;
    std::vector<std::string> all;
    for (const Scout& scout : scouts_)
      for (unsigned i = 0; i < scout.in->getPortCount(); ++i) all.push_back(scout.in->getPortName(i));
    return all;
  }

  std::unique_ptr<OpenPort> open(const std::string& name, Inlet& inlet) override {
    const Quiet quiet;
    for (const Scout& scout : scouts_) try {
        for (unsigned i = 0; i < scout.in->getPortCount(); ++i) {
          if (scout.in->getPortName(i) != name) continue;
          auto port = std::make_unique<RtPort>(scout.api, inlet);
          port->in.openPort(i, "in");
          port->in.setErrorCallback(ignore_error);
          return port;
        }
      } catch (const RtMidiError&) {
        break;
      }
    throw Error(Fault::machine, "the MIDI port cannot be opened", printable(name, 200),
                "plug it in again, or choose another; burstloom live --list shows the ports");
  }

  std::unique_ptr<OpenPort> open_virtual(const std::string& name, Inlet& inlet) override {
    const Quiet quiet;
    for (const Scout& scout : scouts_) try {
        auto port = std::make_unique<RtPort>(scout.api, inlet);
        port->in.openVirtualPort(name);
        port->in.setErrorCallback(ignore_error);
        return port;
      } catch (const RtMidiError&) {
        // The next system may run.
      }
    throw Error(Fault::machine, "there is no MIDI on this machine to open a port in", printable(name, 200),
                "start a JACK server, or load ALSA's sequencer (modprobe snd-seq)");
  }

 private:
  struct Scout {
    RtMidi::Api api;
    std::unique_ptr<RtMidiIn> in;
  };
  std::vector<Scout> scouts_;
};

}  // namespace

std::unique_ptr<MidiSystem> midi_of_this_machine() {
  return std::make_unique<RtSystem>();
}

}  // namespace burstloom
