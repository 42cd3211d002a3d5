// SPDX-License-Identifier: GPL-3.0-or-later
//
// Stretches of waveform, decoded again for those who need one.
#pragma once

#include "recording/recording.hpp"
#include "signal/sections.hpp"

#include <functional>

namespace lull {

/// Decodes stretches, band-passed in such a way that a stretch does not depend on who asked for
/// it: the filter runs in over a fixed time before it. Not thread-safe: one a thread.
class StretchReader {
  public:
    /// \param stream   outlives the reader
    /// \param sections the filter; empty: raw samples
    StretchReader(Stream& stream, Sections sections, double rate_hz);

    /// All channels of [first, first+count), cut where the time line ends.
    const Block& read(Frame first, Frame count);

    /// The same, a piece after another, which is cheaper where much is read and little kept.
    /// \param take  gets a block and how many of its first frames lie before the stretch
    void read_in_pieces(Frame first, Frame count,
                        const std::function<void(const Block&, Frame skip)>& take);

    [[nodiscard]] StretchOf as_function() {
        return [this](Frame first, Frame count) -> const Block& { return read(first, count); };
    }

  private:
    Stream* stream_;
    Sections sections_;
    Frame run_in_;
    Block decoded_, stretch_;
};

} // namespace lull
