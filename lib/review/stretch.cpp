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
    if (sections_.empty()) {
        stream_->read(first, count, stretch_);
        return stretch_;
    }
    // The filter is run over the run-in first, so that its state is settled where the stretch
    // begins.
    stream_->read(begin, first - begin, decoded_);
    stream_->read(first, count, stretch_);
    SectionFilter filter(sections_, stretch_.channels);
    filter.prime(decoded_.frames > 0 ? decoded_ : stretch_);
    filter.push(decoded_);
    filter.push(stretch_);
    return stretch_;
}

} // namespace lull
