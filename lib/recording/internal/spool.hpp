// SPDX-License-Identifier: GPL-3.0-or-later
//
// Temporary files without a name.
#pragma once

#include "recording/audio_file.hpp"

#include <cstdint>
#include <memory>
#include <string_view>

namespace lull {

/// \throws Error(output) when there is none to be had
[[nodiscard]] std::shared_ptr<FileHandle> temporary_file();

/// Writes at a place; what lies before it and was never written reads as zeros.
/// \throws Error(output) when there is no room
void put(const FileHandle& file, std::int64_t at, std::string_view bytes);

} // namespace lull
