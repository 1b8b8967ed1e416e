// libsndfile 1.2 does not free all of libvorbis' tables when an OGG file turns out damaged, or after writing
// one; fontconfig keeps what it has read of fonts until the process ends. The leak checker (it runs with the
// sanitizers only) shall look for ours. Include once in a test
// program.
#pragma once

extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() {
  return "leak:libvorbis\nleak:libfontconfig\n";
}
