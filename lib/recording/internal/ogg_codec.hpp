// SPDX-License-Identifier: GPL-3.0-or-later
//
// How long the packets of a codec in Ogg last, without decoding them.
#pragma once

#include "conventions.hpp"
#include "recording/internal/byte_window.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// Vorbis or Opus, described by the first packets of its stream: what libsndfile decodes of Ogg.
class OggCodec {
  public:
    /// Takes the packets of the head one after another. Returns whether more of them are needed.
    /// \throws Error(input) for a codec that is not known
    bool take_head(const std::string& path, std::string packet);

    /// Granules that a packet adds when it follows the one that was given before.
    /// \param bytes  its first ones, longest_packet_head of them or all of it
    [[nodiscard]] Frame granules(ByteSpan bytes);
    /// The packet given next follows none: nothing, or a loss, is before it.
    void restart() { last_block_ = 0; }

    /// Granules that one frame lasts: those of Opus are at 48 kHz, and libsndfile decodes at the
    /// lowest rate of Opus that the stream's own does not exceed.
    [[nodiscard]] Frame granules_per_frame() const { return granules_per_frame_; }
    /// Granules before the time line's beginning, which the decoder gives to nobody.
    [[nodiscard]] Frame skipped() const { return skipped_; }
    /// Granules for which sound is not right yet after a loss.
    [[nodiscard]] Frame settling() const { return kind_ == Kind::opus ? opus_settling : 0; }
    /// The first packet as it should be where a decoder begins within the stream.
    [[nodiscard]] std::string first_packet_within() const;

    static constexpr std::size_t longest_packet_head = 2;

  private:
    enum class Kind { unknown, vorbis, opus };
    /// RFC 7845, 4.6 asks for 0.08 s; measured against the undamaged sound, what differs is then at
    /// -18 dB, and falls under -90 dB within this time, 0.32 s.
    static constexpr Frame opus_settling = 15360;

    void take_first(const std::string& path);
    void read_vorbis_modes(const std::string& path, const std::string& setup);
    [[nodiscard]] Frame vorbis_granules(unsigned char first);

    Kind kind_ = Kind::unknown;
    std::string first_packet_;
    int heads_ = 0, heads_needed_ = 1;
    Frame skipped_ = 0, granules_per_frame_ = 1;
    Frame block_frames_[2] = {0, 0}; ///< of Vorbis: short, long
    std::vector<bool> long_mode_;
    int mode_bits_ = 0;
    Frame last_block_ = 0; ///< 0: none
};

} // namespace lull
