// The wires that a VCD file declares, and which of them is the gate.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace burstloom::vcd {

/// One $var.
struct Wire {
  std::string id;         ///< identifier code in the value changes
  std::string name;       ///< without scopes and bit select
  std::string select;     ///< "[3]", "[7:0]" or empty
  std::size_t scope = 0;  ///< index into the scopes
  bool one_bit = false;
};

class Wires {
 public:
  void enter_scope(std::string name);
  /// False when no scope is open.
  [[nodiscard]] bool leave_scope();
  void add(Wire wire);

  /// The identifier code of the wire that is meant. `wanted` is a name, or the end of a path ("dut.gate"); a
  /// full path goes before an end of one. Empty: the one called `gate`, else the only one-bit wire. Throws
  /// Error (usage) that lists the wires there are when none or several fit, `file` being the file's name.
  [[nodiscard]] const std::string& choose(const std::string& wanted, const std::string& file) const;

 private:
  struct Scope {
    std::string name;
    std::size_t parent = 0;
  };
  enum class Fit { none, end_of_path, whole_path };

  [[nodiscard]] Fit fit(const Wire& wire, std::string_view wanted) const;
  [[nodiscard]] std::vector<const Wire*> named(std::string_view wanted) const;
  [[nodiscard]] std::vector<const Wire*> one_bit() const;
  [[nodiscard]] std::string path(const Wire& wire) const;
  [[nodiscard]] std::string list(const std::vector<const Wire*>& wires) const;

  // Scopes form a tree and names are put together only where they are shown: a file with deep scopes and many
  // wires costs no more memory than it has bytes.
  std::vector<Scope> scopes_{Scope{}};  // the first is the file itself
  std::vector<Wire> wires_;
  std::size_t open_ = 0;
};

}  // namespace burstloom::vcd
