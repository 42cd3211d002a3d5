// SPDX-License-Identifier: GPL-3.0-or-later
//
// Durations of the packets of a codec in Ogg, without decoding.
#pragma once

#include "conventions.hpp"
#include "recording/internal/byte_window.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// Vorbis or Opus, the codecs that libsndfile decodes in Ogg. Described by the first packets of the
/// stream.
class OggCodec {
  public:
    /// Takes the header packets one after another. Returns whether more are needed.
    /// \throws Error(input) for an unknown codec
    bool take_head(const std::string& path, std::string packet);

    /// Granules that a packet adds after the packet of the last call.
    /// \param bytes  its first ones: longest_packet_head of them, or all
    [[nodiscard]] Frame granules(ByteSpan bytes);
    /// Tells that the next packet follows none: it is the first, or comes after a loss.
    void restart() { last_block_ = 0; }

    /// Granules of one frame. Those of Opus are at 48 kHz, and libsndfile decodes at the lowest
    /// rate of Opus that is at least the stream's own.
    [[nodiscard]] Frame granules_per_frame() const { return granules_per_frame_; }
    /// Granules before the start of the time line, which the decoder drops.
    [[nodiscard]] Frame skipped() const { return skipped_; }
    /// Granules after a loss in which the sound is not right yet.
    [[nodiscard]] Frame settling() const { return kind_ == Kind::opus ? opus_settling : 0; }
    /// The first packet in the form needed where a decoder starts within the stream.
    [[nodiscard]] std::string first_packet_within() const;

    static constexpr std::size_t longest_packet_head = 2;

  private:
    enum class Kind { unknown, vorbis, opus };
    /// RFC 7845, 4.6 asks for 0.08 s. Measured against the undamaged sound, the difference is then
    /// -18 dB, and falls below -90 dB within this time, 0.32 s.
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
