// SPDX-License-Identifier: GPL-3.0-or-later
//
// Cache of what is known of files that are opened repeatedly. Checking a compressed file reads it
// whole.
#pragma once

#include "recording/audio_file.hpp"

#include <map>
#include <string>

namespace lull {

class ExaminedFiles {
  public:
    /// The result of examine_audio, or that of the last call if the file has not changed since.
    [[nodiscard]] AudioInfo examine(const std::string& path);

  private:
    struct Known {
        std::string state; ///< identity, size and times
        AudioInfo info;
    };
    std::map<std::string, Known> known_;
};

} // namespace lull
