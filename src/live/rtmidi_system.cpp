// MIDI ports through RtMidi, and its manners: constructors throw where a system is missing, a JACK client
// without a server throws only when it opens a port, and a JACK server that ends is not told, and the
// libraries write to standard error.
#include <RtMidi.h>
#include <fcntl.h>
#include <jack/jack.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>

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

// Clients of a server that has ended are left as they are: closing one crashes in JACK's library (1.9.21).
//
// A client of its own to a JACK server that runs, which is told when that ends.
class JackServer {
 public:
  JackServer()
      : client_(::jack_client_open("burstloom-watch", JackNoStartServer, nullptr)),
        runs_(client_ != nullptr) {
    if (client_ == nullptr) return;
    ::jack_on_shutdown(
        client_, [](void* it) { static_cast<JackServer*>(it)->runs_.store(false); }, this);
    ::jack_activate(client_);
  }
  JackServer(const JackServer&) = delete;
  JackServer& operator=(const JackServer&) = delete;
  ~JackServer() {
    if (runs()) ::jack_client_close(client_);
  }
  [[nodiscard]] bool runs() const { return runs_.load(); }
  /// Whether any port is connected to the input `name` of one of our clients (JACK numbers them where there
  /// are several).
  [[nodiscard]] bool is_connected(const std::string& name) const {
    if (!runs()) return false;
    bool connected = false;
    const char** const inputs = ::jack_get_ports(client_, nullptr, JACK_DEFAULT_MIDI_TYPE, JackPortIsInput);
    for (const char** it = inputs; it != nullptr && *it != nullptr && !connected; ++it) {
      const std::string_view full = *it;
      if (!full.starts_with(kClient) || !full.ends_with(":" + name)) continue;
      const char** const senders =
          ::jack_port_get_all_connections(client_, ::jack_port_by_name(client_, *it));
      connected = senders != nullptr && *senders != nullptr;
      ::jack_free(senders);
    }
    ::jack_free(inputs);
    return connected;
  }

 private:
  jack_client_t* client_;
  std::atomic<bool> runs_;
};

class RtPort : public OpenPort {
 public:
  // System exclusive is left out; timing clock and active sensing are signs of life. `server` is nothing but
  // for JACK.
  RtPort(RtMidi::Api api, Inlet& inlet, std::shared_ptr<JackServer> server)
      : in(std::make_unique<RtMidiIn>(api, kClient)), server_(std::move(server)) {
    in->ignoreTypes(true, false, false);
    in->setCallback(hear, &inlet);
  }
  ~RtPort() override {
    const Quiet quiet;
    if (!is_alive()) (void)in.release();
    in.reset();
  }
  [[nodiscard]] bool is_alive() const override { return !server_ || server_->runs(); }
  [[nodiscard]] bool has_sender() const override {
    return !server_ || name.empty() || server_->is_connected(name);
  }
  std::unique_ptr<RtMidiIn> in;
  std::string name;  ///< of a port of our own; else empty: then nobody can tell whose connection it is

 private:
  std::shared_ptr<JackServer> server_;
};

// JACK's library waits for ever where it cannot open what it needs, and leaves its database of this user
// locked, for every program after it.
void require_file_handles() {
  constexpr rlim_t kEnough = 64;
  struct rlimit limit {};
  if (::getrlimit(RLIMIT_NOFILE, &limit) != 0 || limit.rlim_cur >= kEnough) return;
  limit.rlim_cur = std::min(kEnough, limit.rlim_max);
  if (limit.rlim_cur < kEnough || ::setrlimit(RLIMIT_NOFILE, &limit) != 0)
    throw Error(Fault::machine, "fewer than 64 files may be open at once, too few for MIDI ports", "",
                "allow more (ulimit -n 1024)");
}

class RtSystem : public MidiSystem {
 public:
  RtSystem() {
    require_file_handles();
    ::jack_set_error_function([](const char*) {});
    ::jack_set_info_function([](const char*) {});
    std::vector<RtMidi::Api> compiled;
    RtMidi::getCompiledApi(compiled);
    for (const RtMidi::Api api : compiled) scouts_.push_back({api, nullptr, nullptr});
  }
  RtSystem(const RtSystem&) = delete;
  RtSystem& operator=(const RtSystem&) = delete;
  ~RtSystem() override {
    const Quiet quiet;
    for (Scout& scout : scouts_)
      if (scout.server && !scout.server->runs()) (void)scout.in.release();
    scouts_.clear();
  }

  std::vector<std::string> names() override {
    const Quiet quiet;
    std::vector<std::string> all;
    look_for_systems();
    for (const Scout& scout : scouts_)
      for (unsigned i = 0; i < ports_of(scout); ++i) all.push_back(scout.in->getPortName(i));
    return all;
  }

  std::unique_ptr<OpenPort> open(const std::string& name, Inlet& inlet) override {
    const Quiet quiet;
    look_for_systems();
    for (const Scout& scout : scouts_) try {
        for (unsigned i = 0; i < ports_of(scout); ++i) {
          if (scout.in->getPortName(i) != name) continue;
          auto port = std::make_unique<RtPort>(scout.api, inlet, scout.server);
          port->in->openPort(i, "in");
          port->in->setErrorCallback(ignore_error);
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
    look_for_systems();
    for (const Scout& scout : scouts_) try {
        if (!scout.in) continue;
        auto port = std::make_unique<RtPort>(scout.api, inlet, scout.server);
        port->in->openVirtualPort(name);
        port->name = name;
        port->in->setErrorCallback(ignore_error);
        return port;
      } catch (const RtMidiError&) {
        // The next system may run.
      }
    throw Error(Fault::machine, "there is no MIDI on this machine to open a port in", printable(name, 200),
                "start a JACK server, or load ALSA's sequencer (modprobe snd-seq)");
  }

 private:
  // Looks for ports of one system, where that runs.
  struct Scout {
    RtMidi::Api api;
    std::unique_ptr<RtMidiIn> in;
    std::shared_ptr<JackServer> server;
  };
  static unsigned ports_of(const Scout& scout) { return scout.in ? scout.in->getPortCount() : 0; }

  // Systems may come and go: a JACK server that has ended is let go of, one that has begun is found.
  void look_for_systems() {
    for (Scout& scout : scouts_) {
      if (scout.server && !scout.server->runs()) (void)scout.in.release();
      if (!scout.in) find(scout);
    }
  }
  static void find(Scout& scout) try {
    if (scout.api == RtMidi::UNIX_JACK) {
      scout.server = std::make_shared<JackServer>();
      if (!scout.server->runs()) return;
    }
    scout.in = std::make_unique<RtMidiIn>(scout.api, std::string(kClient) + "-look");
    scout.in->setErrorCallback(ignore_error);
  } catch (const RtMidiError&) {
    // This one is not on this machine.
  }

  std::vector<Scout> scouts_;
};

}  // namespace

std::unique_ptr<MidiSystem> midi_of_this_machine() {
  return std::make_unique<RtSystem>();
}

}  // namespace burstloom
