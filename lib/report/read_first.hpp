// SPDX-License-Identifier: GPL-3.0-or-later
//
// READ-FIRST.txt: what a person must know before opening anything else in the folder.
#pragma once

#include "account/disclosure.hpp"
#include "recording/recording.hpp"

#include <span>
#include <string>

namespace lull {

/// What READ-FIRST.txt says of the files that contain sound, or that there is none.
[[nodiscard]] std::string sound_list(std::span<const std::string> sound_files);

/// \param sound_files  every file of the folder that contains sound, relative to it
[[nodiscard]] std::string read_first_text(const Recording& recording,
                                          std::span<const std::string> sound_files,
                                          const Disclosure& disclosure = {});

} // namespace lull
