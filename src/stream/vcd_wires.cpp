#include "vcd_wires.hpp"

#include <algorithm>

#include "burstloom/common/error.hpp"

namespace burstloom::vcd {
namespace {

using Choice = std::vector<const Wire*>;

// Several names for one net share an identifier code; that is no ambiguity.
bool is_one_net(const Choice& wires) {
  return !wires.empty() && std::all_of(wires.begin(), wires.end(),
                                       [&](const Wire* wire) { return wire->id == wires.front()->id; });
}

// Takes `tail` off the end of `text`; false when it does not end so.
bool take_tail(std::string_view& text, std::string_view tail) {
  if (!text.ends_with(tail)) return false;
  text.remove_suffix(tail.size());
  return true;
}

}  // namespace

void Wires::enter_scope(std::string name) {
  scopes_.push_back({std::move(name), open_});
  open_ = scopes_.size() - 1;
}

bool Wires::leave_scope() {
  if (open_ == 0) return false;
  open_ = scopes_[open_].parent;
  return true;
}

void Wires::add(Wire wire) {
  if (wire.name.starts_with('\\')) wire.name.erase(0, 1);  // an escaped identifier
  wire.scope = open_;
  wires_.push_back(std::move(wire));
}

Wires::Fit Wires::fit(const Wire& wire, std::string_view wanted) const {
  if (!wire.select.empty()) take_tail(wanted, wire.select);
  if (!take_tail(wanted, wire.name)) return Fit::none;
  std::size_t scope = wire.scope;
  for (; scope != 0 && !wanted.empty(); scope = scopes_[scope].parent)
    if (!take_tail(wanted, ".") || !take_tail(wanted, scopes_[scope].name)) return Fit::none;
  if (!wanted.empty()) return Fit::none;
  return scope == 0 ? Fit::whole_path : Fit::end_of_path;
}

Choice Wires::named(std::string_view wanted) const {
  Choice whole, end;
  for (const Wire& wire : wires_) {
    const Fit how = fit(wire, wanted);
    if (how == Fit::whole_path) whole.push_back(&wire);
    if (how == Fit::end_of_path) end.push_back(&wire);
  }
  return whole.empty() ? end : whole;
}

Choice Wires::one_bit() const {
  Choice found;
  for (const Wire& wire : wires_)
    if (wire.one_bit) found.push_back(&wire);
  return found;
}

std::string Wires::path(const Wire& wire) const {
  std::vector<std::string_view> parts{wire.select, wire.name};
  for (std::size_t scope = wire.scope; scope != 0; scope = scopes_[scope].parent) {
    parts.emplace_back(".");
    parts.push_back(scopes_[scope].name);
  }
  std::string name;
  for (auto part = parts.rbegin(); part != parts.rend(); ++part) name += *part;
  return printable(name);
}

std::string Wires::list(const Choice& wires) const {
  constexpr std::size_t kShown = 12;
  std::string text;
  for (std::size_t i = 0; i < std::min(kShown, wires.size()); ++i)
    text += (i > 0 ? ", " : "") + path(*wires[i]);
  if (wires.size() > kShown) text += " and " + std::to_string(wires.size() - kShown) + " more";
  return text;
}

const std::string& Wires::choose(const std::string& wanted, const std::string& file) const {
  const std::string where = printable(file, 200);
  const Choice all = one_bit();
  if (all.empty())
    throw bad_input("the file declares no wire of one bit", where, "capture the gate as a wire of its own");
  Choice found = named(wanted.empty() ? "gate" : wanted);
  const bool too_wide = !found.empty() && std::none_of(found.begin(), found.end(),
                                                       [](const Wire* wire) { return wire->one_bit; });
  std::erase_if(found, [](const Wire* wire) { return !wire->one_bit; });
  if (wanted.empty() && found.empty()) found = all;
  if (is_one_net(found)) return found.front()->id;
  const std::string name = "'" + printable(wanted) + "'";
  const std::string problem = !found.empty() && wanted.empty() ? "several wires could be the gate"
                              : !found.empty()                 ? "several wires are called " + name
                              : too_wide                       ? "the wire " + name + " is not one bit wide"
                                                               : "there is no wire called " + name;
  throw Error(Fault::usage, problem, where, "choose one by --wire: " + list(found.empty() ? all : found));
}

}  // namespace burstloom::vcd
