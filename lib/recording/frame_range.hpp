// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "conventions.hpp"

namespace lull {

/// A stretch of frames.
struct FrameRange {
    Frame first = 0, frames = 0;

    [[nodiscard]] Frame end() const { return first + frames; }
};

} // namespace lull
