// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string>

namespace lull {

/// The only rate used here. Opus itself counts time at 48 kHz (RFC 7845).
inline constexpr double opus_rate_hz = 8000.0;

/// Encodes one channel as Opus (RFC 6716, lossy) in Ogg (RFC 7845). The same samples give the same
/// bytes.
/// \param samples        at opus_rate_hz, full scale = 1
/// \param bits_a_second  6000 to 128000, on average
/// \return a whole file; a decoder gives as many samples as went in
/// \throws std::bad_alloc
[[nodiscard]] std::string to_opus(std::span<const float> samples, int bits_a_second);

} // namespace lull
