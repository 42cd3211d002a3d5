// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "recording/audio_file.hpp"
#include "recording/recording.hpp"

#include <string>
#include <vector>

namespace lull {

/// Reports that a file is cut short or damaged, or does not state its length.
void tell_of_file(const AudioInfo& info, const std::string& label, std::vector<Notice>& notices);

} // namespace lull
