// SPDX-License-Identifier: GPL-3.0-or-later
//
// Text from recordings, sessions and logs made safe to stand in a file of ours.
#pragma once

#include <string>
#include <string_view>

namespace lull {

/// The text with every byte that is not well-formed UTF-8 replaced by U+FFFD.
[[nodiscard]] std::string valid_utf8(std::string_view text);

/// The text if it has at most so many characters, else its beginning and end with an ellipsis
/// between. \param most  >= 3; \param text  UTF-8; what is not becomes U+FFFD
[[nodiscard]] std::string shortened(std::string_view text, std::size_t most);

/// The text as it may stand in SVG or HTML, between tags and within a quoted attribute: & < > " '
/// become entities, control characters (which XML forbids) U+FFFD, and so does what is not UTF-8.
[[nodiscard]] std::string escape_markup(std::string_view text);

} // namespace lull
