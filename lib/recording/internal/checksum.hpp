// SPDX-License-Identifier: GPL-3.0-or-later
//
// Cyclic redundancy checks of compressed audio: highest bit first, initial value 0, not inverted.
// Over bytes and the check that follows them the result is 0.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>

namespace lull {

/// \tparam Word        an unsigned type of the check's width
/// \tparam polynomial  without its highest term
template <class Word, Word polynomial>
class Checksum {
  public:
    Word value = 0;

    void add(std::span<const unsigned char> bytes) {
        const unsigned char* at = bytes.data();
        std::size_t left = bytes.size();
        Word sum = value;
        for (; left >= lanes; left -= lanes, at += lanes) {
            Word next = 0;
            for (std::size_t i = 0; i < lanes; ++i) {
                const unsigned char carried =
                    i < sizeof(Word)
                        ? static_cast<unsigned char>(sum >> (8 * (sizeof(Word) - 1 - i)))
                        : static_cast<unsigned char>(0);
                next = static_cast<Word>(next ^ tables[lanes - 1 - i][at[i] ^ carried]);
            }
            sum = next;
        }
        for (; left > 0; --left, ++at)
            sum = step(sum, *at);
        value = sum;
    }

  private:
    static constexpr std::size_t lanes = 8; ///< bytes processed at once
    static constexpr int width = 8 * sizeof(Word);
    using Tables = std::array<std::array<Word, 256>, lanes>;

    static constexpr Word shifted(Word word) { // by 8 bits, the contribution of a byte
        if constexpr (width == 8)
            return 0;
        else
            return static_cast<Word>(word << 8);
    }
    static constexpr Tables make() {
        Tables made{};
        for (unsigned byte = 0; byte < 256; ++byte) {
            auto word = static_cast<Word>(static_cast<Word>(byte) << (width - 8));
            for (int bit = 0; bit < 8; ++bit) {
                const bool high = (word >> (width - 1) & 1U) != 0;
                word = static_cast<Word>(word << 1);
                if (high) word = static_cast<Word>(word ^ polynomial);
            }
            made[0][byte] = word;
        }
        for (std::size_t lane = 1; lane < lanes; ++lane)
            for (std::size_t byte = 0; byte < 256; ++byte) {
                const Word before = made[lane - 1][byte];
                made[lane][byte] =
                    static_cast<Word>(shifted(before) ^ made[0][before >> (width - 8)]);
            }
        return made;
    }
    static constexpr Tables tables = make();

    static Word step(Word sum, unsigned char byte) {
        return static_cast<Word>(shifted(sum) ^ tables[0][(sum >> (width - 8)) ^ byte]);
    }
};

using FlacHeaderCheck = Checksum<std::uint8_t, 0x07>;     ///< RFC 9639, 9.1.8
using FlacFrameCheck = Checksum<std::uint16_t, 0x8005>;   ///< RFC 9639, 9.3
using OggPageCheck = Checksum<std::uint32_t, 0x04C11DB7>; ///< RFC 3533, 6

} // namespace lull
