/* Lies between a program and the C library: counts what changes regular files and folders, and at
   the n-th such call kills the process, or lets the call fail. Loaded by LD_PRELOAD. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

static long counted = 0, strike = 0;
static int action = 0;   /* 0 none, -1 kill, else the error number */
static int onward = 0;   /* also every later call */
static int log_to = -1;  /* where each call is told */
static int whole = 0;    /* with what it writes */

void shim_arm(long when, int what, int from_then_on, int log) {
  counted = 0;
  strike = when;
  action = what;
  onward = from_then_on;
  log_to = log;
}

void shim_tell_all(int yes) { whole = yes; }

long shim_counted(void) { return counted; }

static int on_disk(int handle) {
  struct stat facts;
  if (handle == log_to) return 0;
  return fstat(handle, &facts) == 0 && (S_ISREG(facts.st_mode) || S_ISDIR(facts.st_mode));
}

static void tell(const char *name, int handle, const char *path) {
  if (log_to < 0) return;
  char link[64], told[512], line[700];
  ssize_t length;
  told[0] = 0;
  if (path) {
    snprintf(told, sizeof told, "%s", path);
  } else {
    snprintf(link, sizeof link, "/proc/self/fd/%d", handle);
    length = readlink(link, told, sizeof told - 1);
    told[length > 0 ? length : 0] = 0;
  }
  int size = snprintf(line, sizeof line, "%s %s\n", name, told);
  ssize_t (*plain)(int, const void *, size_t) = dlsym(RTLD_NEXT, "write");
  if (plain(log_to, line, (size_t)size) < 0) return;
}

/* Tells a call with its numbers and bytes, so that it can be done again elsewhere. */
static void tell_whole(const char *name, int handle, const char *path, const char *from,
                       long long at, const void *data, size_t size) {
  char link[64], told[512], line[1400];
  ssize_t length;
  ssize_t (*plain)(int, const void *, size_t) = dlsym(RTLD_NEXT, "write");
  if (log_to < 0 || !whole) return;
  told[0] = 0;
  if (path) {
    snprintf(told, sizeof told, "%s", path);
  } else {
    snprintf(link, sizeof link, "/proc/self/fd/%d", handle);
    length = readlink(link, told, sizeof told - 1);
    told[length > 0 ? length : 0] = 0;
  }
  int written = snprintf(line, sizeof line, "%s\t%s\t%s\t%lld\t%zu\n", name, told,
                         from ? from : "", at, size);
  if (plain(log_to, line, (size_t)written) < 0) return;
  while (size) {
    ssize_t done = plain(log_to, data, size);
    if (done < 0) return;
    data = (const char *)data + done;
    size -= (size_t)done;
  }
}

/* Returns an error number if this call shall fail. */
static int struck(const char *name, int handle, const char *path) {
  if (!action && log_to < 0) return 0;
  counted++;
  if (!whole) tell(name, handle, path);
  if (!action || !(counted == strike || (onward && counted > strike))) return 0;
  if (action < 0) kill(getpid(), SIGKILL);
  return action;
}

#define STRIKE(name, handle, path) \
  do { int fault = struck(name, handle, path); if (fault) { errno = fault; return -1; } } while (0)

ssize_t write(int handle, const void *data, size_t size) {
  ssize_t (*plain)(int, const void *, size_t) = dlsym(RTLD_NEXT, "write");
  if (on_disk(handle)) {
    STRIKE("write", handle, NULL);
    tell_whole("write", handle, NULL, NULL, (long long)lseek(handle, 0, SEEK_CUR), data, size);
  }
  return plain(handle, data, size);
}
ssize_t pwrite(int handle, const void *data, size_t size, off_t at) {
  ssize_t (*plain)(int, const void *, size_t, off_t) = dlsym(RTLD_NEXT, "pwrite");
  if (on_disk(handle)) {
    STRIKE("write", handle, NULL);
    tell_whole("write", handle, NULL, NULL, (long long)at, data, size);
  }
  return plain(handle, data, size, at);
}
ssize_t pwrite64(int handle, const void *data, size_t size, off64_t at) {
  ssize_t (*plain)(int, const void *, size_t, off64_t) = dlsym(RTLD_NEXT, "pwrite64");
  if (on_disk(handle)) {
    STRIKE("write", handle, NULL);
    tell_whole("write", handle, NULL, NULL, (long long)at, data, size);
  }
  return plain(handle, data, size, at);
}
int fsync(int handle) {
  int (*plain)(int) = dlsym(RTLD_NEXT, "fsync");
  STRIKE("sync", handle, NULL);
  tell_whole("sync", handle, NULL, NULL, 0, NULL, 0);
  return plain(handle);
}
int fdatasync(int handle) {
  int (*plain)(int) = dlsym(RTLD_NEXT, "fdatasync");
  STRIKE("sync", handle, NULL);
  tell_whole("sync", handle, NULL, NULL, 0, NULL, 0);
  return plain(handle);
}
int ftruncate64(int handle, off64_t size) {
  int (*plain)(int, off64_t) = dlsym(RTLD_NEXT, "ftruncate64");
  STRIKE("truncate", handle, NULL);
  tell_whole("truncate", handle, NULL, NULL, (long long)size, NULL, 0);
  return plain(handle, size);
}
int ftruncate(int handle, off_t size) {
  int (*plain)(int, off_t) = dlsym(RTLD_NEXT, "ftruncate");
  STRIKE("truncate", handle, NULL);
  tell_whole("truncate", handle, NULL, NULL, (long long)size, NULL, 0);
  return plain(handle, size);
}
int rename(const char *from, const char *to) {
  int (*plain)(const char *, const char *) = dlsym(RTLD_NEXT, "rename");
  STRIKE("rename", -1, to);
  tell_whole("rename", -1, to, from, 0, NULL, 0);
  return plain(from, to);
}
int link(const char *from, const char *to) {
  int (*plain)(const char *, const char *) = dlsym(RTLD_NEXT, "link");
  STRIKE("link", -1, to);
  tell_whole("link", -1, to, from, 0, NULL, 0);
  return plain(from, to);
}
int linkat(int from_folder, const char *from, int to_folder, const char *to, int flags) {
  int (*plain)(int, const char *, int, const char *, int) = dlsym(RTLD_NEXT, "linkat");
  STRIKE("link", -1, to);
  tell_whole("link", -1, to, from, 0, NULL, 0);
  return plain(from_folder, from, to_folder, to, flags);
}
int unlink(const char *path) {
  int (*plain)(const char *) = dlsym(RTLD_NEXT, "unlink");
  /* A full disk still lets go of files: only a kill strikes here. */
  struck("unlink", -1, path);
  tell_whole("unlink", -1, path, NULL, 0, NULL, 0);
  return plain(path);
}
int mkdir(const char *path, mode_t mode) {
  int (*plain)(const char *, mode_t) = dlsym(RTLD_NEXT, "mkdir");
  STRIKE("mkdir", -1, path);
  tell_whole("mkdir", -1, path, NULL, 0, NULL, 0);
  return plain(path, mode);
}
