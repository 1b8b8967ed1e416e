// A machine that fails: preloaded before burstloom, it counts what the program asks of the system for files that it
// writes (open, write, fsync, close, rename, mkdir), and fails at the call that FAULT_AT names. FAULT_HOW:
//   full   half of that write is taken, then nothing any more (ENOSPC) until the program ends
//   broken that one call fails (EIO)
//   killed half of that write is taken, then SIGKILL
// With FAULT_AT=0 nothing fails, and FAULT_MARK gets as many bytes as there were calls. Without it, FAULT_HOW=short takes and gives a byte a call, interrupted every other time (EINTR).
// FAULT_HOW=unread lets reads fail instead (EIO), one alone as `broken` does, of files named by a relative path.
// FAULT_HOW=shrunk halves such a file before that read, FAULT_HOW=grown writes as much to its end as there is.
// FAULT_HOW=line lets writes to a serial line fail (EIO) from the call that FAULT_AT names on.
// FAULT_THREADS is how many threads are to be had (EAGAIN after that). FAULT_CLOCK moves the clock by so many seconds;
// "back" lets every clock run backwards, 10 ms each time that it is asked; "jumping" that of the day go an hour forth and
// back.
// The file FAULT_MARK is made when the fault has happened.
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <dlfcn.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

enum { kFiles = 1024 };
static atomic_bool is_written[kFiles], is_line[kFiles], is_named_here[kFiles] = {true, true, true};
static atomic_int calls;

static bool how(const char* wanted) {
  const char* is = getenv("FAULT_HOW");
  return is != NULL && strcmp(is, wanted) == 0;
}

// Whether this call meets the fault; `first` where it is the one named.
static bool fails(bool* first) {
  const char* text = getenv("FAULT_AT");
  if (text == NULL) return false;
  const int at = atoi(text), call = ++calls;
  if (at == 0) return false;
  *first = call == at;
  if (call < at || (call > at && !how("full") && !how("line"))) return false;
  if (*first) syscall(SYS_close, syscall(SYS_openat, AT_FDCWD, getenv("FAULT_MARK"), O_CREAT | O_WRONLY, 0600));
  errno = how("full") ? ENOSPC : EIO;
  return true;
}

static bool reads(void) { return how("unread") || how("shrunk") || how("grown"); }

static bool fails_here(void) {
  bool first = false;
  if (reads() || how("line") || !fails(&first)) return false;
  if (how("killed")) kill(getpid(), SIGKILL);
  return true;
}

static bool watched(int file) { return file > 2 && file < kFiles && is_written[file]; }

// Whether this call is interrupted; files of the system are spared: the library of fonts does not bear it.
static bool interrupted(int file) {
  static atomic_uint turn;
  if (file < 0 || file >= kFiles || !is_named_here[file] || turn++ % 2 == 0) return false;
  errno = EINTR;
  return true;
}

static int open_at(int folder, const char* path, int flags, mode_t mode) {
  const bool writes = (flags & O_CREAT) != 0;
  if (writes && fails_here()) return -1;
  const int file = (int)syscall(SYS_openat, folder, path, flags, mode);
  if (file >= 0 && file < kFiles) is_named_here[file] = path[0] != '/';
  if (file >= 0 && file < kFiles) is_line[file] = (flags & O_NOCTTY) != 0 && (flags & O_RDWR) != 0;
  if (file >= 0 && file < kFiles) is_written[file] = writes && (flags & O_EXCL) != 0;  // a lock is no file that is written
  return file;
}

#define MODE_OF(flags)                        \
  mode_t mode = 0;                            \
  if (((flags) & O_CREAT) != 0) {             \
    va_list rest;                             \
    va_start(rest, flags);                    \
    mode = (mode_t)va_arg(rest, unsigned);    \
    va_end(rest);                             \
  }
int open(const char* path, int flags, ...) { MODE_OF(flags) return open_at(AT_FDCWD, path, flags, mode); }
int open64(const char* path, int flags, ...) { MODE_OF(flags) return open_at(AT_FDCWD, path, flags | O_LARGEFILE, mode); }
int __open_2(const char* path, int flags) { return open_at(AT_FDCWD, path, flags, 0); }  // what open becomes when hardened

FILE* fopen(const char* path, const char* mode) {
  FILE* (*real)(const char*, const char*);
  *(void**)&real = dlsym(RTLD_NEXT, "fopen");
  FILE* file = real(path, mode);
  if (file != NULL && fileno(file) < kFiles) is_named_here[fileno(file)] = path[0] != '/';
  return file;
}
FILE* fopen64(const char* path, const char* mode) { return fopen(path, mode); }

ssize_t write(int file, const void* bytes, size_t size) {
  if (how("short") && size > 0) return interrupted(file) ? -1 : syscall(SYS_write, file, bytes, (size_t)1);
  bool first = false;
  if (how("line")) return file > 2 && file < kFiles && is_line[file] && fails(&first) ? -1 : syscall(SYS_write, file, bytes, size);
  if (!watched(file) || reads() || !fails(&first)) return syscall(SYS_write, file, bytes, size);
  ssize_t taken = -1;
  if (first && size > 1 && !how("broken")) taken = syscall(SYS_write, file, bytes, size / 2);
  if (how("killed")) kill(getpid(), SIGKILL);
  return taken;
}

// Somebody else writes to the file while it is read.
static void change_size(int file) {
  char path[64];
  struct stat is;
  snprintf(path, sizeof path, "/proc/self/fd/%d", file);
  if (fstat(file, &is) != 0 || !S_ISREG(is.st_mode)) return;
  const int again = (int)syscall(SYS_openat, AT_FDCWD, path, O_RDWR);
  if (how("shrunk")) syscall(SYS_ftruncate, again, is.st_size / 2);
  char* copy = malloc((size_t)is.st_size);
  if (how("grown") && syscall(SYS_pread64, again, copy, is.st_size, (off_t)0) == is.st_size)
    syscall(SYS_pwrite64, again, copy, is.st_size, is.st_size);
  free(copy);
  syscall(SYS_close, again);
}

ssize_t read(int file, void* bytes, size_t size) {
  bool first = false;
  const bool changes = how("shrunk") || how("grown");
  if (changes && file > 2 && file < kFiles && is_named_here[file] && fails(&first) && first) change_size(file);
  if (how("unread") && file > 2 && file < kFiles && is_named_here[file] && fails(&first)) return -1;
  if (!how("short") || size == 0) return syscall(SYS_read, file, bytes, size);
  return interrupted(file) ? -1 : syscall(SYS_read, file, bytes, (size_t)1);
}

int fsync(int file) { return watched(file) && fails_here() ? -1 : (int)syscall(SYS_fsync, file); }

int close(int file) {
  const bool failed = watched(file) && fails_here();
  const int reason = errno;
  if (file >= 0 && file < kFiles) is_written[file] = is_named_here[file] = is_line[file] = false;
  const int closed = (int)syscall(SYS_close, file);
  if (failed) errno = reason;
  return failed ? -1 : closed;
}

__attribute__((destructor)) static void tell_calls(void) {
  const char* text = getenv("FAULT_AT");
  if (text == NULL || atoi(text) != 0) return;
  const int file = (int)syscall(SYS_openat, AT_FDCWD, getenv("FAULT_MARK"), O_CREAT | O_WRONLY, 0600);
  syscall(SYS_ftruncate, file, (off_t)calls);
  syscall(SYS_close, file);
}

int rename(const char* from, const char* to) { return fails_here() ? -1 : (int)syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0); }

int renameat2(int at, const char* from, int to_at, const char* to, unsigned flags) {
  return fails_here() ? -1 : (int)syscall(SYS_renameat2, at, from, to_at, to, flags);
}

int mkdir(const char* path, mode_t mode) { return fails_here() ? -1 : (int)syscall(SYS_mkdirat, AT_FDCWD, path, mode); }

int pthread_create(pthread_t* thread, const pthread_attr_t* how_made, void* (*run)(void*), void* with) {
  static atomic_int made;
  const char* most = getenv("FAULT_THREADS");
  if (most != NULL && made++ >= atoi(most)) return EAGAIN;
  int (*real)(pthread_t*, const pthread_attr_t*, void* (*)(void*), void*);
  *(void**)&real = dlsym(RTLD_NEXT, "pthread_create");
  return real(thread, how_made, run, with);
}

int clock_gettime(clockid_t clock, struct timespec* now) {
  static atomic_long asked;
  const int done = (int)syscall(SYS_clock_gettime, clock, now);
  const char* by = getenv("FAULT_CLOCK");
  if (done != 0 || by == NULL) return done;
  if (strcmp(by, "back") == 0) {
    const long ms = 10 * ++asked;
    now->tv_sec = 1000000 - ms / 1000;
    now->tv_nsec = 999000000 - ms % 1000 * 1000000;
  } else if (clock == CLOCK_REALTIME) {
    now->tv_sec += strcmp(by, "jumping") == 0 ? 3600 * (++asked % 2) : atol(by);
  }
  return 0;
}

time_t time(time_t* seconds) {
  struct timespec now;
  clock_gettime(CLOCK_REALTIME, &now);
  if (seconds != NULL) *seconds = now.tv_sec;
  return now.tv_sec;
}

int gettimeofday(struct timeval* restrict of_day, void* restrict zone) {
  (void)zone;
  struct timespec now;
  clock_gettime(CLOCK_REALTIME, &now);
  *of_day = (struct timeval){now.tv_sec, now.tv_nsec / 1000};
  return 0;
}
