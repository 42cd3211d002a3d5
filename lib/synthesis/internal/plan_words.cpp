// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/internal/plan_words.hpp"

namespace lull {

const char* name_of(Sound sound) {
    return sound_words[static_cast<std::size_t>(sound)];
}
const char* name_of(Material material) {
    return material_words[static_cast<std::size_t>(material)];
}
const char* name_of(LayerKind kind) {
    return layer_words[static_cast<std::size_t>(kind)];
}
const char* name_of(FaultKind kind) {
    return fault_words[static_cast<std::size_t>(kind)];
}

} // namespace lull
