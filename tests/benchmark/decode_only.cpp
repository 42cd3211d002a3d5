// SPDX-License-Identifier: GPL-3.0-or-later
//
// Reads a whole recording through libsndfile and does nothing else: the minimum that any tool must
// spend.
#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <vector>

int main(int argc, char** argv) {
    if (argc != 2) return 2;
    SF_INFO info{};
    SNDFILE* file = sf_open(argv[1], SFM_READ, &info);
    if (file == nullptr) {
        std::fprintf(stderr, "decode_only: %s: %s\n", argv[1], sf_strerror(nullptr));
        return 3;
    }
    std::vector<float> block(static_cast<std::size_t>(info.channels) * 16384);
    sf_count_t frames = 0, read = 0;
    float last = 0.0F;
    while ((read = sf_readf_float(file, block.data(), 16384)) > 0) {
        frames += read;
        last = std::max(last, std::abs(block[0])); // so that the compiler removes nothing
    }
    sf_close(file);
    std::printf("%lld frames %g\n", static_cast<long long>(frames), static_cast<double>(last));
    return 0;
}
