#include "burstloom/weave/note_fate.hpp"

namespace burstloom {

const char* name_of(NoteFateKind kind) {
  constexpr const char* names[] = {"played", "folded", "skipped", "stolen"};
  return names[static_cast<int>(kind)];
}

}  // namespace burstloom
