// SPDX-License-Identifier: GPL-3.0-or-later
//
// Makes text from recordings, sessions and logs safe for our files.
#pragma once

#include <string>
#include <string_view>

namespace lull {

/// The text with every byte that is not well-formed UTF-8 replaced by U+FFFD.
[[nodiscard]] std::string valid_utf8(std::string_view text);

/// The text if it has at most so many characters, else its beginning and end with an ellipsis
/// between.
/// \param most  >= 3
/// \param text  UTF-8; other bytes become U+FFFD
[[nodiscard]] std::string shortened(std::string_view text, std::size_t most);

/// Text for SVG or HTML, between tags and within a quoted attribute. & < > " ' become entities.
/// Control characters (which XML forbids) and bytes that are not UTF-8 become U+FFFD.
[[nodiscard]] std::string escape_markup(std::string_view text);

} // namespace lull
