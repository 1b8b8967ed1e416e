// Where each key stood in the file, for messages.
#pragma once

#include <map>
#include <string>

namespace burstloom {

struct KeyLines {
  std::string file;
  std::map<std::string, std::size_t> line;  ///< by path, list entries counted: "limits.duty[2]"

  /// "coil.toml, line 12", or the nearest enclosing table's line, or the file's first.
  [[nodiscard]] std::string where(std::string path) const {
    for (; !path.empty(); path.resize(path.rfind('.') == std::string::npos ? 0 : path.rfind('.')))
      if (const auto found = line.find(path); found != line.end())
        return file + ", line " + std::to_string(found->second);
    return file + ", line 1";
  }
};

}  // namespace burstloom
