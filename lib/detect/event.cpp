// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/event.hpp"

namespace lull {

const char* name_of(EventKind kind) {
    switch (kind) {
    case EventKind::tapping:
        return "tapping";
    case EventKind::voice_like:
        return "voice-like";
    case EventKind::horn:
        return "horn";
    case EventKind::other:
        break;
    }
    return "other";
}

} // namespace lull
