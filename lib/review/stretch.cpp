// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/stretch.hpp"

#include "signal/section_filter.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

namespace lull {
namespace {

constexpr double run_in_s = 0.25;    ///< fifteen periods of the lowest default corner
constexpr Frame piece_frames = 8192; ///< six channels of it stay in a core's own cache

/// The runs of `from` that meet [first, first+count), cut to it.
std::vector<Run> cut_runs(const std::vector<Run>& from, Frame first, Frame count) {
    std::vector<Run> kept;
    for (Run run : from) {
        const Frame begin = std::max(run.first, first);
        const Frame end = std::min(run.first + run.count, first + count);
        if (begin < end) kept.push_back({run.channel, begin, end - begin});
    }
    return kept;
}

} // namespace

StretchReader::StretchReader(Stream& stream, Sections sections, double rate_hz)
    : stream_(&stream), sections_(std::move(sections)),
      run_in_(sections_.empty() ? 0 : static_cast<Frame>(std::ceil(run_in_s * rate_hz))) {}

void StretchReader::read_in_pieces(Frame first, Frame count,
                                   const std::function<void(const Block&, Frame skip)>& take) {
    std::optional<SectionFilter> filter;
    first = std::max<Frame>(0, first);
    const Frame begin = std::max<Frame>(0, first - run_in_), end = first + count;
    for (Frame at = begin; at < end; at += decoded_.frames) {
        stream_->read(at, std::min(piece_frames, end - at), decoded_);
        if (decoded_.frames == 0) return;
        if (!filter) filter.emplace(sections_, decoded_.channels).prime(decoded_);
        filter->push(decoded_);
        if (at + decoded_.frames > first) take(decoded_, std::max<Frame>(0, first - at));
    }
}

const Block& StretchReader::read(Frame first, Frame count) {
    const Frame begin = std::max<Frame>(0, first - run_in_);
    first = std::max<Frame>(0, first);
    stream_->read(begin, count + (first - begin), decoded_);
    if (sections_.empty()) return decoded_;
    if (decoded_.frames > 0) {
        SectionFilter filter(sections_, decoded_.channels);
        filter.prime(decoded_);
        filter.push(decoded_);
    }
    const Frame skip = std::min(first - begin, decoded_.frames);
    stretch_.first = first;
    stretch_.frames = decoded_.frames - skip;
    stretch_.channels = decoded_.channels;
    stretch_.samples.resize(static_cast<std::size_t>(stretch_.frames * stretch_.channels));
    for (int c = 0; c < stretch_.channels; ++c)
        std::ranges::copy(decoded_.channel(c).subspan(static_cast<std::size_t>(skip)),
                          stretch_.channel(c).begin());
    stretch_.non_finite = cut_runs(decoded_.non_finite, stretch_.first, stretch_.frames);
    stretch_.missing = cut_runs(decoded_.missing, stretch_.first, stretch_.frames);
    return stretch_;
}

} // namespace lull
