// SPDX-License-Identifier: GPL-3.0-or-later
//
// What is known of files that are opened again and again: a check of compressed ones reads them
// whole.
#pragma once

#include "recording/audio_file.hpp"

#include <map>
#include <string>

namespace lull {

class ExaminedFiles {
  public:
    /// What examine_audio finds; of a file that is as it was when that was asked before, what it
    /// found then.
    [[nodiscard]] AudioInfo examine(const std::string& path);

  private:
    struct Known {
        std::string state; ///< identity, size and times
        AudioInfo info;
    };
    std::map<std::string, Known> known_;
};

} // namespace lull
