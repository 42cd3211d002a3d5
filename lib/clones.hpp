// SPDX-License-Identifier: GPL-3.0-or-later
//
// Inner loops that are compiled for several kinds of processor; the machine picks when it starts.
// Without fused multiply-add (the build forbids it) all of them give the same bits.
#pragma once

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(LULL_SANITIZED)
#define LULL_CLONES __attribute__((target_clones("default", "avx2", "arch=x86-64-v4")))
#else
#define LULL_CLONES
#endif
