// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/miniseed_contents.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace lull {
namespace {

/// The first record at or after an offset.
std::int64_t next_record(ByteWindow& file, std::int64_t from, MiniseedRecord& record,
                         int usual_bytes) {
    for (std::int64_t at = from; at < file.size(); ++at)
        if (record.read_header(file, at, usual_bytes)) return at;
    return file.size();
}

bool is_blank(ByteWindow& file, std::int64_t from, std::int64_t end) {
    while (from < end) {
        const ByteSpan bytes =
            file.at(from, static_cast<std::size_t>(std::min<std::int64_t>(end - from, 1 << 16)));
        if (bytes.empty() ||
            !std::ranges::all_of(bytes, [](unsigned char byte) { return byte == 0; }))
            return false;
        from += std::ssize(bytes);
    }
    return true;
}

class Reading {
  public:
    explicit Reading(ByteWindow& file) : file_(&file) {}

    MiniseedContents contents() {
        int usual_bytes = 0;
        for (std::int64_t at = 0; at < file_->size();) {
            const auto header = record_.read_header(*file_, at, usual_bytes);
            if (!header) {
                const std::int64_t next = next_record(*file_, at + 1, record_, usual_bytes);
                // Recorders that reserve space for a file leave zeros after its last record.
                if (next < file_->size() || !is_blank(*file_, at, next)) all_.damage.push_back(at);
                at = next;
                continue;
            }
            usual_bytes = header->bytes;
            if (at + header->bytes > file_->size()) {
                all_.cut_short = true;
                all_.damage.push_back(at);
                break;
            }
            if (!header->is_text) add(*header, at);
            at += header->bytes;
        }
        return std::move(all_);
    }

  private:
    void add(const MiniseedHeader& header, std::int64_t at) {
        if (header.encoding.empty()) {
            all_.unread.insert(header.source);
            return;
        }
        const bool sound = record_.decode(file_->at(at, static_cast<std::size_t>(header.bytes)));
        all_.encodings.insert(header.encoding);
        all_.only_integers = all_.only_integers && header.integers;
        source_of(header).records.push_back(
            {at, header.start_us, header.bytes, header.samples, header.whole_ticks, !sound});
    }
    MiniseedContents::Source& source_of(const MiniseedHeader& header) {
        const auto found =
            std::ranges::find_if(all_.sources, [&](const MiniseedContents::Source& one) {
                return one.name == header.source && is_same_rate(header.rate_hz, one.rate_hz);
            });
        if (found != all_.sources.end()) return *found;
        all_.sources.push_back({header.rate_hz, header.source, {}});
        return all_.sources.back();
    }

    ByteWindow* file_;
    MiniseedRecord record_;
    MiniseedContents all_;
};

} // namespace

bool is_same_rate(double rate_hz, double other_hz) {
    return std::abs(rate_hz - other_hz) <= 1e-4 * other_hz;
}

MiniseedContents miniseed_contents(ByteWindow& file) {
    return Reading(file).contents();
}

} // namespace lull
