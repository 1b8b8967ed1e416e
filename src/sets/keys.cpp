#include "keys.hpp"

#include <cstdio>

namespace burstloom {

KeyOf& KeyOf::add(std::string_view part) {
  parts_ += std::to_string(part.size()) + ":";
  parts_ += part;
  return *this;
}

KeyOf& KeyOf::add(double number) {
  char text[32];
  std::snprintf(text, sizeof text, "%a", number);
  return add(text);
}

}  // namespace burstloom
