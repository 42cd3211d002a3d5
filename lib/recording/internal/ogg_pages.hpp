// SPDX-License-Identifier: GPL-3.0-or-later
//
// The pages of an Ogg file (RFC 3533). Each has a number, a checksum and the time of its end.
#pragma once

#include "recording/internal/byte_window.hpp"
#include "recording/internal/intact_sound.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace lull {

struct OggPage {
    std::int64_t at = 0;
    std::int32_t bytes = 0;
    std::uint32_t sequence = 0;

    [[nodiscard]] std::int64_t end() const { return at + bytes; }
};

/// The pages of one stream with right checksums, in order of their numbers, each once.
struct OggPages {
    std::vector<OggPage> pages;
    bool reordered = false; ///< their order in the file is different
    bool gapless = false;   ///< there are no bytes before, between and after them
};

/// \throws Error(input) for several streams, side by side or one after another
[[nodiscard]] OggPages list_ogg_pages(const std::string& path, ByteWindow& file);

/// The header of a page and its packets.
struct OggPageHead {
    bool continues = false, begins_stream = false, ends_stream = false;
    std::int64_t granule = -1; ///< of the last packet that ends here; -1: none does
    std::uint32_t serial = 0;
    std::int64_t body_at = 0;
    std::vector<int> pieces;   ///< bytes of each packet's part on this page
    bool last_is_open = false; ///< the last packet continues on the next page
};

/// \param page  with a right checksum
[[nodiscard]] OggPageHead ogg_page_head(ByteWindow& file, const OggPage& page);

/// Adds a page with another number. If `body` is not empty, it replaces the page's body.
void add_renumbered(std::vector<BytePiece>& pieces, ByteWindow& file, const OggPage& page,
                    std::uint32_t sequence, const std::string& body);

/// Checks every page of an Ogg file. Empty for other formats.
/// \throws Error(input) when its times are unknown
[[nodiscard]] std::optional<IntactSound> check_ogg(const std::string& path, ByteWindow& file);

} // namespace lull
