// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/intact_sound.hpp"

namespace lull {

Frame IntactSound::end() const {
    return takes.empty() || takes.back().uses.empty() ? 0 : takes.back().uses.back().to.end();
}

std::vector<FrameRange> IntactSound::lost() const {
    std::vector<FrameRange> lost;
    Frame at = 0;
    for (const Take& take : takes)
        for (const Take::Use& use : take.uses) {
            if (use.to.first > at) lost.push_back({at, use.to.first - at});
            at = use.to.end();
        }
    return lost;
}

} // namespace lull
