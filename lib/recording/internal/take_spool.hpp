// SPDX-License-Identifier: GPL-3.0-or-later
//
// What decoders give, on its way to where it belongs.
#pragma once

#include "recording/audio_file.hpp"
#include "recording/internal/intact_sound.hpp"

#include <sndfile.h>

#include <functional>
#include <span>
#include <string>

namespace lull {

/// Takes interleaved frames, full scale 1, in order.
using Sink = std::function<void(std::span<const float> interleaved)>;

/// Decodes from where the file stands to its end. Returns the frames.
Frame decode(SNDFILE* file, int tracks, const Sink& sink);

/// Puts what a take's decoder gives where it belongs in a file of floats.
class TakeSpool {
  public:
    TakeSpool(const FileHandle& into, const Take& take) : into_(&into), take_(&take) {}

    void add(int tracks, std::span<const float> interleaved);
    /// \throws Error(input) when the decoder gave fewer frames than it must
    void check(const std::string& path) const;

  private:
    const FileHandle* into_;
    const Take* take_;
    Frame decoded_ = 0;
};

} // namespace lull
