// What a command may write over: what Burstloom wrote before as a file of the same kind. Nothing of the
// user's.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace burstloom {

enum class OutputKind { stream, csv, vcd, sound, ledger, header, report, picture };

struct Output {
  std::string path;  ///< may be empty: then there is none
  OutputKind kind;
};

/// Throws Error (usage) where a file stands at one of the paths that is not empty and that Burstloom did not
/// write as a file of that kind, by what it begins with.
void require_replaceable(const std::vector<Output>& outputs);

/// Writes a text that is there to be edited. Throws Error (usage) where another one stands there, unless
/// `force`: it may have been edited.
void write_to_edit(const std::string& path, std::string_view content, bool force);

}  // namespace burstloom
