// SPDX-License-Identifier: GPL-3.0-or-later
//
// Puts decoded sound in its place.
#pragma once

#include "recording/audio_file.hpp"
#include "recording/internal/intact_sound.hpp"

#include <sndfile.h>

#include <functional>
#include <span>
#include <string>

namespace lull {

/// Gets interleaved frames, full scale 1, in order.
using Sink = std::function<void(std::span<const float> interleaved)>;

/// Decodes from the current position to the end. Returns the number of frames.
Frame decode(SNDFILE* file, int tracks, const Sink& sink);

/// Writes the decoded sound of a take to its place in a file of floats.
class TakeSpool {
  public:
    TakeSpool(const FileHandle& into, const Take& take) : into_(&into), take_(&take) {}

    void add(int tracks, std::span<const float> interleaved);
    /// \throws Error(input) when the decoder gave too few frames
    void check(const std::string& path) const;

  private:
    const FileHandle* into_;
    const Take* take_;
    Frame decoded_ = 0;
};

} // namespace lull
