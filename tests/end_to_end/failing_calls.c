// SPDX-License-Identifier: GPL-3.0-or-later
//
// Preloaded into a tool (LD_PRELOAD) by test_faults.py: lists the calls that it makes, or makes one of
// them fail. Every call has a key, its function and the file that it is about, with '#' for each
// number: "rename .report.json.part-#". An allocation has as key the place that asks for the memory:
// "memory MODULE OFFSET".
//
//   CALLS_LOG      file to which the key of each call is added, in order; of allocations a line for
//                  each place, with how often, when the process ends
//   CALLS_WATCHED  "files" (all calls but allocations) or "memory"
//   CALLS_KEY, CALLS_NTH  the call to fail: the NTH one with this key
//   CALLS_KILL     1: the process is killed in place of that call
//   CALLS_NEVER    functions that always fail, with blanks between: as on a file system without them
#define _GNU_SOURCE
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

enum { most_places = 1 << 16, longest = 600 };

static const char *wanted_key, *never;
static long wanted_nth, seen;
static int watch_files, watch_memory, kill_it, log_file = -1, is_set_up;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;

static struct {
    uintptr_t address;
    long count;
} places[most_places];
static uintptr_t wanted_address; // within its module
static char wanted_module[longest];

static void set_up(void) {
    if (is_set_up) return;
    is_set_up = 1;
    const char* watched = getenv("CALLS_WATCHED");
    watch_files = watched != NULL && strcmp(watched, "files") == 0;
    watch_memory = watched != NULL && strcmp(watched, "memory") == 0;
    wanted_key = getenv("CALLS_KEY");
    never = getenv("CALLS_NEVER");
    const char* nth = getenv("CALLS_NTH");
    wanted_nth = nth == NULL ? 0 : strtol(nth, NULL, 10);
    kill_it = getenv("CALLS_KILL") != NULL;
    if (wanted_key != NULL && watch_memory)
        (void)sscanf(wanted_key, "memory %599s %lx", wanted_module, &wanted_address);
    const char* path = getenv("CALLS_LOG");
    if (path != NULL)
        log_file = (int)syscall(SYS_openat, AT_FDCWD, path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0644);
}

static int die_or_fail(void) {
    if (kill_it) {
        syscall(SYS_kill, getpid(), SIGKILL);
    }
    return 1;
}

// Whether a file belongs to the system. Calls about such files never fail.
static int is_of_the_system(const char* path) {
    if (strncmp(path, "/dev/shm/", 9) == 0) return 0;
    return strncmp(path, "/usr/", 5) == 0 || strncmp(path, "/etc/", 5) == 0 || strncmp(path, "/proc/", 6) == 0 ||
           strncmp(path, "/sys/", 5) == 0 || strncmp(path, "/dev/", 5) == 0;
}

// Whether this call must fail.
static int fails(const char* function, const char* path) {
    set_up();
    if (never != NULL) {
        const char* found = strstr(never, function);
        const size_t length = strlen(function);
        if (found != NULL && (found == never || found[-1] == ' ') && (found[length] == ' ' || found[length] == 0))
            return 1;
    }
    if (!watch_files || path == NULL || is_of_the_system(path)) return 0;
    const char* slash = strrchr(path, '/');
    const char* name = slash == NULL ? path : slash + 1;
    char key[longest];
    int at = snprintf(key, sizeof key / 2, "%s ", function);
    for (int in_number = 0; *name != 0 && at < longest - 2; ++name) {
        const int digit = *name >= '0' && *name <= '9';
        if (!digit || !in_number) key[at++] = digit ? '#' : *name;
        in_number = digit;
        key[at] = 0;
        if (strstr(key, ".part-") != NULL) { // a process number, or anything
            key[at++] = '#';
            break;
        }
    }
    key[at] = 0;
    int this_one = 0;
    pthread_mutex_lock(&lock);
    if (wanted_key != NULL && strcmp(key, wanted_key) == 0) this_one = ++seen == wanted_nth;
    if (log_file >= 0) {
        key[at] = '\n';
        syscall(SYS_write, log_file, key, (size_t)at + 1);
    }
    pthread_mutex_unlock(&lock);
    return this_one && die_or_fail();
}

static int fails_at(const char* function, int descriptor) {
    char link[64], path[longest];
    snprintf(link, sizeof link, "/proc/self/fd/%d", descriptor);
    const long length = syscall(SYS_readlinkat, AT_FDCWD, link, path, sizeof path - 1);
    if (length <= 0 || path[0] != '/') return fails(function, NULL);
    path[length] = 0;
    return fails(function, path);
}

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))
#define FAIL(reason, result)                                                                       \
    do {                                                                                           \
        errno = (reason);                                                                          \
        return (result);                                                                           \
    } while (0)

int open(const char* path, int flags, ...) {
    va_list rest;
    va_start(rest, flags);
    const mode_t mode = flags & (O_CREAT | O_TMPFILE) ? va_arg(rest, mode_t) : 0;
    va_end(rest);
    if (fails("open", path)) FAIL(EIO, -1);
    return (int)syscall(SYS_openat, AT_FDCWD, path, flags, mode);
}
int open64(const char* path, int flags, ...) __attribute__((alias("open")));

int openat(int folder, const char* path, int flags, ...) {
    va_list rest;
    va_start(rest, flags);
    const mode_t mode = flags & (O_CREAT | O_TMPFILE) ? va_arg(rest, mode_t) : 0;
    va_end(rest);
    if (fails("openat", path)) FAIL(EIO, -1);
    return (int)syscall(SYS_openat, folder, path, flags, mode);
}
int openat64(int folder, const char* path, int flags, ...) __attribute__((alias("openat")));

FILE* fopen64(const char* path, const char* mode) {
    if (fails("fopen", path)) FAIL(EIO, NULL);
    return REAL(fopen64)(path, mode);
}
FILE* fopen(const char* path, const char* mode) {
    if (fails("fopen", path)) FAIL(EIO, NULL);
    return REAL(fopen)(path, mode);
}
int mkostemp64(char* name, int flags) {
    if (fails("mkostemp", name)) FAIL(EIO, -1);
    return REAL(mkostemp64)(name, flags);
}
int mkostemp(char* name, int flags) {
    if (fails("mkostemp", name)) FAIL(EIO, -1);
    return REAL(mkostemp)(name, flags);
}
ssize_t write(int file, const void* bytes, size_t count) {
    if (fails_at("write", file)) FAIL(ENOSPC, -1);
    return syscall(SYS_write, file, bytes, count);
}
ssize_t pwrite(int file, const void* bytes, size_t count, off_t at) {
    if (fails_at("pwrite", file)) FAIL(ENOSPC, -1);
    return syscall(SYS_pwrite64, file, bytes, count, at);
}
ssize_t pwrite64(int file, const void* bytes, size_t count, off_t at) __attribute__((alias("pwrite")));
ssize_t pread(int file, void* bytes, size_t count, off_t at) {
    if (fails_at("pread", file)) FAIL(EIO, -1);
    return syscall(SYS_pread64, file, bytes, count, at);
}
ssize_t pread64(int file, void* bytes, size_t count, off_t at) __attribute__((alias("pread")));
size_t fwrite(const void* bytes, size_t size, size_t count, FILE* file) {
    if (fileno(file) > 2 && fails_at("fwrite", fileno(file))) FAIL(ENOSPC, 0);
    return REAL(fwrite)(bytes, size, count, file);
}
int fclose(FILE* file) {
    const int failed = fails_at("fclose", fileno(file));
    const int result = REAL(fclose)(file);
    if (failed) FAIL(ENOSPC, EOF);
    return result;
}
int close(int file) {
    const int failed = fails_at("close", file);
    const int result = (int)syscall(SYS_close, file);
    if (failed) FAIL(EIO, -1);
    return result;
}
int fsync(int file) {
    if (fails_at("fsync", file)) FAIL(EIO, -1);
    return (int)syscall(SYS_fsync, file);
}
int syncfs(int file) {
    if (fails_at("syncfs", file)) FAIL(EIO, -1);
    return (int)syscall(SYS_syncfs, file);
}
int rename(const char* from, const char* to) {
    if (fails("rename", from)) FAIL(EIO, -1);
    return (int)syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0);
}
int renameat2(int from_folder, const char* from, int to_folder, const char* to, unsigned flags) {
    if (fails("renameat2", from)) FAIL(EINVAL, -1);
    return (int)syscall(SYS_renameat2, from_folder, from, to_folder, to, flags);
}
int linkat(int from_folder, const char* from, int to_folder, const char* to, int flags) {
    if (fails("linkat", from)) FAIL(EPERM, -1);
    return (int)syscall(SYS_linkat, from_folder, from, to_folder, to, flags);
}
int mkdir(const char* path, mode_t mode) {
    if (fails("mkdir", path)) FAIL(ENOSPC, -1);
    return (int)syscall(SYS_mkdirat, AT_FDCWD, path, mode);
}
int unlink(const char* path) {
    if (fails("unlink", path)) FAIL(EIO, -1);
    return (int)syscall(SYS_unlinkat, AT_FDCWD, path, 0);
}
int unlinkat(int folder, const char* path, int flags) {
    if (fails("unlinkat", path)) FAIL(EIO, -1);
    return (int)syscall(SYS_unlinkat, folder, path, flags);
}
int rmdir(const char* path) {
    if (fails("rmdir", path)) FAIL(EIO, -1);
    return (int)syscall(SYS_unlinkat, AT_FDCWD, path, AT_REMOVEDIR);
}
int remove(const char* path) {
    if (fails("remove", path)) FAIL(EIO, -1);
    return REAL(remove)(path);
}
int flock(int file, int operation) {
    if (fails_at("flock", file)) FAIL(EIO, -1);
    return (int)syscall(SYS_flock, file, operation);
}

// Allocations. The place is the caller of operator new, not operator new itself.

extern void* __libc_malloc(size_t);
extern void* __libc_calloc(size_t, size_t);
extern void* __libc_realloc(void*, size_t);
extern void* __libc_memalign(size_t, size_t);
extern void* _Znwm(size_t);
extern void* _Znam(size_t);

static __thread uintptr_t asker __attribute__((tls_model("initial-exec")));
static __thread int inside __attribute__((tls_model("initial-exec")));

static uintptr_t base_of(uintptr_t address, const char** module) {
    Dl_info info;
    *module = "";
    inside = 1;
    const int found = dladdr((void*)address, &info);
    inside = 0;
    if (!found) return 0;
    const char* slash = strrchr(info.dli_fname, '/');
    *module = slash == NULL ? info.dli_fname : slash + 1;
    return (uintptr_t)info.dli_fbase;
}

static int memory_fails(uintptr_t caller) {
    if (inside) return 0;
    set_up();
    if (!watch_memory) return 0;
    const uintptr_t address = asker != 0 ? asker : caller;
    size_t at = (address * 0x9E3779B97F4A7C15U) >> 48U;
    int this_one = 0;
    pthread_mutex_lock(&lock);
    for (int tries = 0; tries < most_places; ++tries, at = (at + 1) % most_places) {
        if (places[at].address == 0) {
            places[at].address = address;
            const char* module = "";
            const uintptr_t base = base_of(address, &module);
            // Marks the wanted place, of which there are few, by a negative count.
            if (wanted_key != NULL && address - base == wanted_address && strcmp(module, wanted_module) == 0)
                places[at].count = -1000000000L;
        }
        if (places[at].address != address) continue;
        this_one = ++places[at].count == -1000000000L + wanted_nth;
        break;
    }
    pthread_mutex_unlock(&lock);
    return this_one && die_or_fail();
}

#define CALLER ((uintptr_t)__builtin_return_address(0))
void* malloc(size_t size) {
    if (memory_fails(CALLER)) FAIL(ENOMEM, NULL);
    return __libc_malloc(size);
}
void* calloc(size_t count, size_t size) {
    if (memory_fails(CALLER)) FAIL(ENOMEM, NULL);
    return __libc_calloc(count, size);
}
void* realloc(void* old, size_t size) {
    if (size != 0 && memory_fails(CALLER)) FAIL(ENOMEM, NULL);
    return __libc_realloc(old, size);
}
void* memalign(size_t alignment, size_t size) {
    if (memory_fails(CALLER)) FAIL(ENOMEM, NULL);
    return __libc_memalign(alignment, size);
}
void* aligned_alloc(size_t alignment, size_t size) {
    if (memory_fails(CALLER)) FAIL(ENOMEM, NULL);
    return __libc_memalign(alignment, size);
}
int posix_memalign(void** memory, size_t alignment, size_t size) {
    *memory = memory_fails(CALLER) ? NULL : __libc_memalign(alignment, size);
    return *memory == NULL ? ENOMEM : 0;
}
void* _Znwm(size_t size) {
    static void* (*real)(size_t);
    if (real == NULL) {
        inside = 1;
        real = (void* (*)(size_t))dlsym(RTLD_NEXT, "_Znwm");
        inside = 0;
    }
    asker = CALLER;
    if (memory_fails(CALLER)) {
        asker = 0;
        return real((size_t)1 << 62U); // which throws
    }
    asker = 0;
    const int was_inside = inside;
    inside = 1;
    void* memory = real(size);
    inside = was_inside;
    return memory;
}

__attribute__((destructor)) static void list_places(void) {
    if (log_file < 0 || !watch_memory) return;
    inside = 1;
    for (int at = 0; at < most_places; ++at) {
        if (places[at].address == 0) continue;
        const char* module = "";
        const uintptr_t base = base_of(places[at].address, &module);
        inside = 1;
        dprintf(log_file, "%ld memory %s %lx\n", places[at].count, module, places[at].address - base);
    }
}
