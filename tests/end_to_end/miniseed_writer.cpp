// SPDX-License-Identifier: GPL-3.0-or-later
//
// Appends one channel to a miniSEED file by libmseed itself.
// Usage: miniseed_writer FILE STATION CHANNEL RATE_HZ START_US ENCODING RECORD_BYTES < SAMPLES
// Samples are 32-bit integers in the machine's byte order. Encodings: libmseed's numbers (11: Steim
// 2).
#include "recording/miniseed_files.hpp"

#include <fstream>
#include <iostream>
#include <iterator>

int main(int argc, char** argv) {
    if (argc != 8) return 2;
    lull::test::MiniseedWriting how;
    how.station = argv[2];
    how.channel = argv[3];
    how.rate_hz = std::stod(argv[4]);
    how.start_us = std::stoll(argv[5]);
    how.encoding = std::stoi(argv[6]);
    how.record_bytes = std::stoi(argv[7]);
    const std::string bytes{std::istreambuf_iterator<char>(std::cin), {}};
    std::vector<std::int32_t> samples(bytes.size() / sizeof(std::int32_t));
    std::memcpy(samples.data(), bytes.data(), samples.size() * sizeof(std::int32_t));
    const std::string records = lull::test::miniseed_records(how, samples);
    std::ofstream file(argv[1], std::ios::binary | std::ios::app);
    file << records << std::flush;
    return file && !records.empty() ? 0 : 1;
}
