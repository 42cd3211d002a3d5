// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/miniseed_record.hpp"

#include <fmt/format.h>
#include <libmseed.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <mutex>

namespace lull {
namespace {

constexpr std::size_t header_bytes = 48;
/// libmseed reads up to this much after a record whose blockettes point to its end.
constexpr std::size_t spare_bytes = 256;

void say_nothing(char*) {}

/// Stops libmseed from writing warnings to the terminal. It reads its settings at the first use.
void prepare_library() {
    static std::once_flag once;
    std::call_once(once, [] {
        ms_loginit(say_nothing, "", say_nothing, "");
        unpackheaderbyteorder = unpackdatabyteorder = -1;
        unpackencodingformat = -1;
        unpackencodingfallback = DE_STEIM1;
    });
}

struct Encoding {
    int code;
    const char* name;
    int sample_bytes; ///< 0: compressed
    bool integers;
};
constexpr Encoding encodings[] = {
    {DE_INT16, "signed 16-bit PCM", 2, true}, {DE_INT32, "signed 32-bit PCM", 4, true},
    {DE_FLOAT32, "32-bit float", 4, false},   {DE_FLOAT64, "64-bit float", 8, false},
    {DE_STEIM1, "Steim 1", 0, true},          {DE_STEIM2, "Steim 2", 0, true},
};

const Encoding* encoding_of(int code) {
    const auto* found = std::ranges::find(encodings, code, &Encoding::code);
    return found == std::end(encodings) ? nullptr : found;
}

bool is_code(std::string_view text) {
    return std::ranges::all_of(text, [](char c) {
        return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') ||
               c == '-' || c == '_' || c == ' ';
    });
}

/// The length of the record that begins with these bytes, which spare bytes must follow. Below 0:
/// no record; 0: unknown.
int length_of(const std::vector<char>& bytes) {
    const int length = ms_detect(bytes.data(), static_cast<int>(bytes.size() - spare_bytes));
    if (length <= 0) return length;
    return length >= MINRECLEN && length <= MAXRECLEN && length % MINRECLEN == 0 ? length : -1;
}

std::int32_t word_at(const char* bytes, bool big_endian) {
    std::uint32_t word = 0;
    for (int i = 0; i < 4; ++i)
        word = word << 8U | static_cast<unsigned char>(bytes[big_endian ? i : 3 - i]);
    return static_cast<std::int32_t>(word);
}

} // namespace

MiniseedRecord::MiniseedRecord() {
    prepare_library();
}

MiniseedRecord::~MiniseedRecord() {
    msr_free(&record_);
}

bool MiniseedRecord::unpack_header(ByteSpan record) {
    bytes_.assign(record.begin(), record.end());
    bytes_.resize(record.size() + spare_bytes, 0);
    return msr_unpack(bytes_.data(), static_cast<int>(record.size()), &record_, 0, 0) ==
               MS_NOERROR &&
           record_->reclen == static_cast<int>(record.size());
}

/// libmseed does not check where the samples of uncompressed records end.
bool MiniseedRecord::fits_its_record() const {
    const Encoding* encoding = encoding_of(record_->encoding);
    const int data_at = record_->fsdh->data_offset;
    return encoding != nullptr && data_at >= static_cast<int>(header_bytes) &&
           data_at < record_->reclen && record_->samplecnt > 0 &&
           record_->samplecnt * encoding->sample_bytes <= record_->reclen - data_at;
}

std::optional<MiniseedHeader> MiniseedRecord::read_header(ByteWindow& file, std::int64_t at,
                                                          int usual_bytes) {
    int length = 0;
    for (std::size_t look = 512; length == 0; look *= 8) {
        const ByteSpan seen = file.at(at, std::min<std::size_t>(look, MAXRECLEN));
        if (seen.size() < header_bytes ||
            !MS_ISVALIDHEADER(reinterpret_cast<const char*>(&seen[0])))
            return std::nullopt;
        bytes_.assign(seen.begin(), seen.end());
        bytes_.resize(seen.size() + spare_bytes, 0);
        length = length_of(bytes_);
        if (length == 0 && (look >= MAXRECLEN || seen.size() < look)) length = usual_bytes;
        if (length == 0 && seen.size() < look) length = static_cast<int>(seen.size());
        if (length < 0 || look > 8 * MAXRECLEN) return std::nullopt;
    }
    // The header of a truncated record is still useful.
    const ByteSpan seen = file.at(at, static_cast<std::size_t>(length));
    std::vector<unsigned char> whole(seen.begin(), seen.end());
    whole.resize(static_cast<std::size_t>(length), 0);
    if (!unpack_header(whole)) return std::nullopt;
    MiniseedHeader header;
    for (const char* code :
         {record_->network, record_->station, record_->location, record_->channel}) {
        if (!is_code(code)) return std::nullopt;
        header.source += (code == record_->network ? "" : ".") + std::string(code);
    }
    header.rate_hz = msr_samprate(record_);
    header.samples = static_cast<int>(record_->samplecnt);
    header.bytes = length;
    header.is_text = record_->encoding == DE_ASCII || header.samples == 0;
    if (record_->starttime == HPTERROR ||
        (!header.is_text && !(std::isfinite(header.rate_hz) && header.rate_hz > 0.0)))
        return std::nullopt;
    header.start_us = record_->starttime;
    header.whole_ticks = record_->Blkt1001 == nullptr;
    if (const Encoding* encoding = encoding_of(record_->encoding)) {
        header.encoding = encoding->name;
        header.integers = encoding->integers;
    }
    return header;
}

/// Steim's own check: the record states its last sample.
bool MiniseedRecord::ends_as_promised() const {
    if (record_->encoding != DE_STEIM1 && record_->encoding != DE_STEIM2) return true;
    const std::size_t at = std::size_t{record_->fsdh->data_offset} + 8;
    const auto* decoded = static_cast<const std::int32_t*>(record_->datasamples);
    return word_at(bytes_.data() + at, record_->byteorder != 0) == decoded[record_->numsamples - 1];
}

bool MiniseedRecord::decode(ByteSpan record) {
    samples_.clear();
    if (!unpack_header(record) || !fits_its_record()) return false;
    if (msr_unpack(bytes_.data(), static_cast<int>(record.size()), &record_, 1, 0) != MS_NOERROR ||
        record_->numsamples != record_->samplecnt)
        return false;
    const auto count = static_cast<std::size_t>(record_->numsamples);
    samples_.resize(count);
    const auto take = [&](const auto* decoded, double scale) {
        for (std::size_t n = 0; n < count; ++n)
            samples_[n] = static_cast<float>(static_cast<double>(decoded[n]) * scale);
    };
    if (record_->sampletype == 'i')
        take(static_cast<const std::int32_t*>(record_->datasamples),
             record_->encoding == DE_INT16 ? 0x1p-15 : 0x1p-23);
    else if (record_->sampletype == 'f')
        take(static_cast<const float*>(record_->datasamples), 1.0);
    else
        take(static_cast<const double*>(record_->datasamples), 1.0);
    return record_->sampletype != 'i' || ends_as_promised();
}

} // namespace lull
