#!/usr/bin/python3
"""Runs a command without the system calls that came after Linux 3.2 (x86-64), as if this were that kernel: each fails with
ENOSYS. Numbers of system calls are never taken back: process_vm_writev, 311, is the last of 3.2 (arch/x86/entry/syscalls).

    old_kernel.py COMMAND [ARGUMENT...]"""
import ctypes
import os
import platform
import struct
import sys

LAST = {"x86_64": 311}[platform.machine()]
PR_SET_SECCOMP, PR_SET_NO_NEW_PRIVS, SECCOMP_MODE_FILTER = 22, 38, 2
ENOSYS = 38
# Classic BPF: load the number; more than LAST: fail, else: let through (linux/seccomp.h, linux/filter.h).
program = b"".join(struct.pack("HBBI", *step) for step in (
    (0x20, 0, 0, 0), (0x25, 0, 1, LAST), (0x06, 0, 0, 0x00050000 | ENOSYS), (0x06, 0, 0, 0x7FFF0000)))
steps = ctypes.create_string_buffer(program, len(program))
filter_ = ctypes.create_string_buffer(struct.pack("HxxxxxxP", len(program) // 8, ctypes.addressof(steps)))
libc = ctypes.CDLL(None, use_errno=True)
if libc.prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) or libc.prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, ctypes.byref(filter_)):
    sys.exit(f"no filter for system calls here: {os.strerror(ctypes.get_errno())}")
os.execv(sys.argv[1], sys.argv[1:])
