/* A disk that takes its time, or fails: loaded before the C library (LD_PRELOAD), it stands in for
   fsync and fdatasync. MYONYM_TEST_SYNC_MS is added to each; a call that can take away the file that
   MYONYM_TEST_SYNC_FAIL names fails with EIO, so that one file is one failure. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

static int through(const char *name, int fd)
{
    const char *ms = getenv("MYONYM_TEST_SYNC_MS");
    const char *fail = getenv("MYONYM_TEST_SYNC_FAIL");
    int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, name);
    if (ms) {
        long all = atol(ms);
        struct timespec wait = { all / 1000, all % 1000 * 1000000L };
        nanosleep(&wait, NULL);
    }
    if (fail && unlink(fail) == 0) {
        errno = EIO;
        return -1;
    }
    return real(fd);
}

int fsync(int fd)
{
    return through("fsync", fd);
}

int fdatasync(int fd)
{
    return through("fdatasync", fd);
}
