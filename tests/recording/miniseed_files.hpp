// SPDX-License-Identifier: GPL-3.0-or-later
//
// miniSEED files written by libmseed itself.
#pragma once

#include <libmseed.h>

#include <cstdint>
#include <cstdio>
#include <cstring>
#include <string>
#include <vector>

namespace lull::test {

struct MiniseedWriting {
    std::string network = "XX", station = "NORTH", location = "00", channel = "HHZ";
    double rate_hz = 4000.0;
    std::int64_t start_us = 1773446400000000; ///< 2026-03-14T00:00:00Z
    int encoding = DE_STEIM2;
    int record_bytes = 512;
    bool big_endian = true;
};

inline void append_record(char* record, int bytes, void* into) {
    static_cast<std::string*>(into)->append(record, static_cast<std::size_t>(bytes));
}

/// The records of a stretch of samples: integers for integer encodings, float or double for others.
template <class Sample>
std::string miniseed_records(const MiniseedWriting& how, std::vector<Sample> samples) {
    std::string records;
    MSTrace* trace = mst_init(nullptr);
    std::strcpy(trace->network, how.network.c_str());
    std::strcpy(trace->station, how.station.c_str());
    std::strcpy(trace->location, how.location.c_str());
    std::strcpy(trace->channel, how.channel.c_str());
    trace->dataquality = 'D';
    trace->starttime = how.start_us;
    trace->samprate = how.rate_hz;
    trace->samplecnt = trace->numsamples = static_cast<std::int64_t>(samples.size());
    trace->sampletype = std::is_integral_v<Sample> ? 'i' : sizeof(Sample) == 4 ? 'f' : 'd';
    trace->datasamples = std::malloc(samples.size() * sizeof(Sample));
    std::memcpy(trace->datasamples, samples.data(), samples.size() * sizeof(Sample));
    std::int64_t packed = 0;
    mst_pack(trace, append_record, &records, how.record_bytes, static_cast<flag>(how.encoding),
             how.big_endian ? 1 : 0, &packed, 1, 0, nullptr);
    const bool whole = packed == static_cast<std::int64_t>(samples.size());
    mst_free(&trace);
    return whole ? records : std::string();
}

} // namespace lull::test
