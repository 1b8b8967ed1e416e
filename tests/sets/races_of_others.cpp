// The C library's lgamma, which std::cyl_bessel_i calls, leaves a sign in a global that nobody reads. The
// thread sanitizer shall look for races of ours.
extern "C" const char* __tsan_default_suppressions();
extern "C" const char* __tsan_default_suppressions() {
  return "race:lgamma\n";
}
