"""Disks made for attacking: file systems in user space that do one thing wrong, and real ones in an image, mounted for
the length of a `with` and gone after it. They need root and /dev/fuse; `require` says whether both are there."""
import contextlib
import errno
import os
import pathlib
import signal
import subprocess
import sys
import time
import unittest

try:
    import fusepy
    from fusepy import FuseOSError, Operations
except ImportError:
    fusepy, Operations = None, object

SKIPPED = 77  # SKIP_RETURN_CODE in build.cmake


def require():
    """Ends the test where it cannot run. A container has no /dev/fuse and no mounts unless it was given them, and that is
    no fault of the tree: skipped, in one line. A Debian of its own has them: there it is a failure."""
    lacks = ("root" if os.geteuid() != 0 else "/dev/fuse" if not os.path.exists("/dev/fuse")
             else "python3-fusepy" if not fusepy else None)
    if lacks is None:
        return
    # Process 1 of a container says so, or its files do; somebody who is not root cannot look.
    shut_in = os.geteuid() != 0 or os.path.exists("/.dockerenv") or os.path.exists("/run/.containerenv") or \
        b"container=" in open("/proc/1/environ", "rb").read()
    print(f"{'skipped' if shut_in else 'FAILED'}: {lacks} is missing; the attacks on disks need root, /dev/fuse and "
          "python3-fusepy")
    sys.exit(SKIPPED if shut_in else 1)


class Mirror(Operations):
    """Shows a folder as it is; what derives from it changes one thing. No links, like FAT."""

    use_ns = True

    def __init__(self, below):
        self.below = str(below)

    def real(self, path):
        return self.below + path

    def __call__(self, operation, path, *rest):
        try:
            return super().__call__(operation, path, *rest)
        except OSError as error:
            raise FuseOSError(error.errno or errno.EIO)

    def getattr(self, path, handle=None):
        found = os.lstat(self.real(path))
        times = {name: getattr(found, name + "_ns") for name in ("st_atime", "st_mtime", "st_ctime")}
        return times | {name: getattr(found, name) for name in ("st_mode", "st_nlink", "st_size", "st_uid", "st_gid")}

    def statfs(self, path):
        found = os.statvfs(self.below)
        return {name: getattr(found, name) for name in dir(found) if name.startswith("f_") and name != "f_fsid"
                and name != "f_flag"}

    def readdir(self, path, handle):
        return [".", ".."] + os.listdir(self.real(path))

    def mkdir(self, path, mode):
        os.mkdir(self.real(path), mode)

    def rmdir(self, path):
        os.rmdir(self.real(path))

    def unlink(self, path):
        os.unlink(self.real(path))

    def rename(self, old, new):
        os.rename(self.real(old), self.real(new))

    def link(self, *names):
        raise FuseOSError(errno.EPERM)

    symlink = link

    def open(self, path, flags):
        return os.open(self.real(path), flags & ~os.O_DIRECT)

    def create(self, path, mode, info=None):
        return os.open(self.real(path), os.O_CREAT | os.O_RDWR | os.O_TRUNC, mode)

    def read(self, path, size, offset, handle):
        return os.pread(handle, size, offset)

    def write(self, path, data, offset, handle):
        return os.pwrite(handle, data, offset)

    def truncate(self, path, length, handle=None):
        os.truncate(self.real(path), length)

    def utimens(self, path, times=None):
        os.utime(self.real(path), ns=times)

    def fsync(self, path, data_only, handle):
        return 0

    flush = chmod = chown = lambda self, *ignored: 0

    def release(self, path, handle):
        os.close(handle)


class CaseBlind(Mirror):
    """Takes names that differ in capitals for one, as exFAT does; the first spelling stays. Renaming replaces."""

    def real(self, path):
        at = self.below
        for part in filter(None, path.split("/")):
            there = os.listdir(at) if os.path.isdir(at) else []
            at += "/" + (part if part in there else next((n for n in there if n.lower() == part.lower()), part))
        return at


class TooLargeOnTheLabel(Mirror):
    """Holds `holds` bytes and claims a terabyte: what comes later is laid over what came first."""

    def __init__(self, below, holds):
        super().__init__(below)
        self.cells, self.at, self.where = bytearray(holds), 0, {}  # path: {offset: (cell, length)}

    def statfs(self, path):
        return dict(f_bsize=4096, f_frsize=4096, f_blocks=1 << 28, f_bfree=1 << 28, f_bavail=1 << 28, f_namemax=255)

    def create(self, path, mode, info=None):
        self.where[path] = {}
        return super().create(path, mode)

    def rename(self, old, new):
        super().rename(old, new)
        if old in self.where:
            self.where[new] = self.where.pop(old)

    def write(self, path, data, offset, handle):
        os.ftruncate(handle, max(os.fstat(handle).st_size, offset + len(data)))
        self.at = 0 if self.at + len(data) > len(self.cells) else self.at
        self.cells[self.at:self.at + len(data)] = data
        self.where.setdefault(path, {})[offset] = (self.at, len(data))
        self.at += len(data)
        return len(data)

    def read(self, path, size, offset, handle):
        end = min(offset + size, os.fstat(handle).st_size)
        got = bytearray(max(0, end - offset))
        for begin, (cell, length) in self.where.get(path, {}).items():
            first, last = max(begin, offset), min(begin + length, end)
            if first < last:
                got[first - offset:last - offset] = self.cells[cell + first - begin:cell + last - begin]
        return bytes(got)


class SmallFilesOnly(Mirror):
    """Takes no file larger than `most` bytes, and says so only when it is written, as a network disk may."""

    def __init__(self, below, most):
        super().__init__(below)
        self.most = most

    def write(self, path, data, offset, handle):
        if offset + len(data) > self.most:
            raise FuseOSError(errno.EFBIG)
        return super().write(path, data, offset, handle)


class NamesLikeFat(Mirror):
    """Refuses the characters that FAT and exFAT have no names with."""

    def __call__(self, operation, path, *rest):
        names = path + (rest[0] if operation == "rename" else "")
        if operation in ("create", "mkdir", "rename") and set(names) & set('"*:<>?|\\'):
            raise FuseOSError(errno.EINVAL)
        return super().__call__(operation, path, *rest)


class WhileRead(Mirror):
    """A card to which something happens when so many bytes of it were read."""

    def __init__(self, below, after, happens):
        super().__init__(below)
        self.left, self.happens = after, happens

    def read(self, path, size, offset, handle):
        self.left -= size
        if self.left < 0 and self.happens:
            happens, self.happens = self.happens, None
            happens()
        return super().read(path, size, offset, handle)


class DiesAfter(Mirror):
    """A card that gives nothing any more once so many files were read to their ends, and still has its names."""

    def __init__(self, below, files):
        super().__init__(below)
        self.left = files

    def read(self, path, size, offset, handle):
        if self.left <= 0:
            raise FuseOSError(errno.EIO)
        data = super().read(path, size, offset, handle)
        self.left -= len(data) < size  # the system asks for whole pages: less came, so this was the end
        return data


@contextlib.contextmanager
def served(disk, at, **options):
    """Mounts a disk of the kinds above at a folder, served by a process of its own."""
    os.makedirs(at, exist_ok=True)
    server = os.fork()
    if server == 0:
        os.setsid()
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        try:
            fusepy.FUSE(disk, str(at), foreground=True, nothreads=True, **options)
        finally:
            os._exit(0)
    try:
        for _ in range(500):
            if os.path.ismount(at):
                break
            time.sleep(0.02)
        else:
            raise AssertionError(f"nothing could be mounted at {at}")
        yield at
    finally:
        take_away(at)
        end(server)


def end(server):
    for _ in range(50):
        if os.waitpid(server, os.WNOHANG)[0]:
            return
        time.sleep(0.1)
    os.kill(server, signal.SIGKILL)
    os.waitpid(server, 0)


def take_away(at):
    for _ in range(25):
        if subprocess.run(["umount", str(at)], capture_output=True).returncode == 0:
            return
        time.sleep(0.2)
    subprocess.run(["umount", "-l", str(at)], capture_output=True)


@contextlib.contextmanager
def real_disk(image, at, megabytes, kind="ext4", *options):
    """A file system of the kernel in a file, at a folder."""
    os.makedirs(at, exist_ok=True)
    with open(image, "wb") as file:
        file.truncate(megabytes << 20)
    subprocess.run([f"mkfs.{kind}", *options, str(image)], check=True, capture_output=True)
    kinds = pathlib.Path("/proc/filesystems")  # mount loads what is a module, where it can
    with contextlib.suppress(FileNotFoundError):
        subprocess.run(["modprobe", kind], capture_output=True)
    if kind not in kinds.read_text().split():
        raise unittest.SkipTest(f"this kernel has no {kind}")
    with mounted(image, at):
        yield at


@contextlib.contextmanager
def mounted(image, at, options="loop"):
    os.makedirs(at, exist_ok=True)
    subprocess.run(["mount", "-o", options, str(image), str(at)], check=True, capture_output=True)
    try:
        yield at
    finally:
        take_away(at)


@contextlib.contextmanager
def memory(at):
    """A folder for images that are to count as disks of their own: two in files of one disk are one disk."""
    os.makedirs(at, exist_ok=True)
    subprocess.run(["mount", "-t", "tmpfs", "tmpfs", str(at)], check=True, capture_output=True)
    try:
        yield at
    finally:
        take_away(at)


@contextlib.contextmanager
def loop_device(image):
    device = subprocess.run(["losetup", "-f", "--show", image], check=True, capture_output=True, text=True).stdout.strip()
    try:
        yield device
    finally:
        subprocess.run(["losetup", "-d", device], check=False, capture_output=True)
