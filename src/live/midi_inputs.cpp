#include "burstloom/live/midi_inputs.hpp"

#include <algorithm>

#include "burstloom/common/error.hpp"
#include "burstloom/live/performance.hpp"

namespace burstloom {
namespace {

std::string list_of(const std::vector<std::string>& names) {
  std::string text;
  for (std::size_t i = 0; i < names.size(); ++i)
    text += (i == 0 ? "" : ", ") + std::to_string(i + 1) + " \"" + printable(names[i]) + "\"";
  return text;
}

bool is_number(const std::string& text) {
  return !text.empty() && text.size() < 6 &&
         std::all_of(text.begin(), text.end(), [](unsigned char c) { return c >= '0' && c <= '9'; });
}

// ALSA's names end in an address such as " 24:0", which is another one after a device was plugged in again.
std::string without_address(const std::string& name) {
  const std::size_t space = name.find_last_of(' ');
  if (space == std::string::npos) return name;
  const std::string tail = name.substr(space + 1);
  const std::size_t colon = tail.find(':');
  const bool is_address =
      colon != std::string::npos && is_number(tail.substr(0, colon)) && is_number(tail.substr(colon + 1));
  return is_address ? name.substr(0, space) : name;
}

}  // namespace

std::string chosen_port(const std::vector<std::string>& names, const std::string& wish) {
  if (names.empty())
    throw Error(Fault::machine, "there is no MIDI port on this machine", "",
                "plug a keyboard in, or start a JACK server; burstloom live --list shows the ports");
  const auto refuse = [&](const std::string& what, const std::vector<std::string>& choice) {
    return Error(Fault::usage, what, "--from", "choose one of: " + list_of(choice));
  };
  const std::size_t number = is_number(wish) ? std::stoul(wish) : 0;
  if (number >= 1 && number <= names.size()) return names[number - 1];
  std::vector<std::string> found;
  for (const std::string& name : names) {
    if (name == wish) return name;
    if (name.find(wish) != std::string::npos) found.push_back(name);
  }
  if (found.empty()) throw refuse("no MIDI port's name has \"" + printable(wish) + "\" in it", names);
  if (found.size() > 1)
    throw refuse(std::to_string(found.size()) + " MIDI ports' names have \"" + printable(wish) +
                     "\" in them: give a number or more of the name",
                 names);
  return found.front();
}

MidiInputs::MidiInputs(MidiSystem& system, std::function<void()> ring_bell)
    : system_(system), bell_(std::move(ring_bell)) {}

MidiInputs::Socket& MidiInputs::new_socket(const std::string& name, bool is_ours) {
  if (sockets_.size() == kMostPorts)
    throw Error(Fault::usage, "more than " + std::to_string(kMostPorts) + " MIDI ports", "command line",
                "leave some out");
  for (const Socket& socket : sockets_)
    if (socket.name == name && socket.is_ours == is_ours)
      throw Error(Fault::usage, "the MIDI port \"" + printable(name) + "\" is chosen twice", "command line",
                  "name it once");
  return sockets_.emplace_back(Socket{name, is_ours, std::make_unique<Inlet>(bell_), nullptr, {}, false});
}

void MidiInputs::listen_to(const std::string& wish) {
  const std::vector<std::string> names = system_.names();
  Socket& socket = new_socket(chosen_port(names, wish), false);
  socket.beside = names;
  socket.port = system_.open(socket.name, *socket.inlet);
}

void MidiInputs::offer(const std::string& name) {
  Socket& socket = new_socket(name, true);
  socket.port = system_.open_virtual(name, *socket.inlet);
}

void MidiInputs::look(double now_s) {
  const std::vector<std::string> names = system_.names();
  for (Socket& socket : sockets_) look_after(socket, names, now_s);
}

void MidiInputs::look_after(Socket& socket, const std::vector<std::string>& names, double now_s) {
  const bool there = socket.is_ours || std::find(names.begin(), names.end(), socket.name) != names.end();
  if (socket.port && (!there || !socket.port->is_alive())) {
    socket.port.reset();
    socket.inlet->device_gone(now_s);
  }
  const bool has_sender = socket.port && socket.port->has_sender();
  if (socket.port && socket.had_sender && !has_sender) {
    socket.port.reset();  // nothing more is heard while that is told; it is opened anew at once
    socket.inlet->sender_left(now_s);
  }
  if (!socket.port) open_again(socket, names);
  socket.had_sender = has_sender && socket.port;
  if (socket.port) socket.beside = names;
}

// Whether the port may be the socket's device under a new address: not another one of the same make, which
// was there beside it or is listened to already.
bool MidiInputs::may_be(const Socket& socket, const std::string& name) const {
  const bool was_beside = std::find(socket.beside.begin(), socket.beside.end(), name) != socket.beside.end();
  const bool is_anothers = std::any_of(sockets_.begin(), sockets_.end(),
                                       [&](const Socket& it) { return !it.is_ours && it.name == name; });
  return !was_beside && !is_anothers && without_address(name) == without_address(socket.name);
}

void MidiInputs::open_again(Socket& socket, const std::vector<std::string>& names) try {
  if (socket.is_ours) {
    socket.port = system_.open_virtual(socket.name, *socket.inlet);
    return;
  }
  auto found = std::find(names.begin(), names.end(), socket.name);
  if (found == names.end())
    found = std::find_if(names.begin(), names.end(),
                         [&](const std::string& name) { return may_be(socket, name); });
  if (found == names.end()) return;
  socket.port = system_.open(*found, *socket.inlet);
  socket.name = *found;
} catch (const Error&) {
  // It is not back yet, or went again; the next look will see.
}

std::vector<MidiInputs::Port> MidiInputs::ports() const {
  std::vector<Port> all;
  for (const Socket& socket : sockets_) all.push_back({socket.name, socket.port != nullptr});
  return all;
}

std::vector<Inlet*> MidiInputs::inlets() const {
  std::vector<Inlet*> all;
  for (const Socket& socket : sockets_) all.push_back(socket.inlet.get());
  return all;
}

}  // namespace burstloom
