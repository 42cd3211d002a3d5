// SPDX-License-Identifier: GPL-3.0-or-later
//
// One record of miniSEED (FDSN, Standard for the Exchange of Earthquake Data, version 2.4), decoded
// by libmseed. Its header is checked against the record's length before libmseed uses it.
#pragma once

#include "recording/internal/byte_window.hpp"

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

struct MSRecord_s;

namespace lull {

struct MiniseedHeader {
    std::string source; ///< network.station.location.channel
    double rate_hz = 0.0;
    std::int64_t start_us = 0; ///< of the first sample, since 1970-01-01T00:00:00 UTC
    bool whole_ticks = false;  ///< times have a resolution of 100 us, not of 1 us
    int samples = 0;
    int bytes = 0;        ///< length of the record
    std::string encoding; ///< "Steim 2", "32-bit float"; empty: one that lull does not read
    bool is_text = false; ///< a log without samples
    bool integers = false;
};

/// Not thread-safe: each thread has its own.
class MiniseedRecord {
  public:
    MiniseedRecord();
    ~MiniseedRecord();
    MiniseedRecord(const MiniseedRecord&) = delete;
    MiniseedRecord& operator=(const MiniseedRecord&) = delete;

    /// The header of the record at an offset; empty where none begins. `bytes` may reach beyond the
    /// end of the file.
    /// \param usual_bytes  length of a last record that does not state it; 0: unknown
    std::optional<MiniseedHeader> read_header(ByteWindow& file, std::int64_t at, int usual_bytes);

    /// The samples of the record that begins with these bytes. Full scale 1 is 2^15 for integers of
    /// 16 bits and 2^23 for others, as recorders convert with 24 bits; floats are unchanged. False
    /// when they cannot be decoded or fail the record's own check. Valid until the next call.
    bool decode(ByteSpan record);
    [[nodiscard]] const std::vector<float>& samples() const { return samples_; }

  private:
    bool unpack_header(ByteSpan record);
    [[nodiscard]] bool fits_its_record() const;
    [[nodiscard]] bool ends_as_promised() const;

    MSRecord_s* record_ = nullptr;
    std::vector<char> bytes_; ///< of the record, followed by zeros
    std::vector<float> samples_;
};

} // namespace lull
