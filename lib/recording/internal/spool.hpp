// SPDX-License-Identifier: GPL-3.0-or-later
//
// Temporary files without a name.
#pragma once

#include "recording/audio_file.hpp"

#include <cstdint>
#include <memory>
#include <string_view>

namespace lull {

/// \throws Error(output) when none can be made
[[nodiscard]] std::shared_ptr<FileHandle> temporary_file();

/// Writes at an offset. Bytes before it that were never written read as zeros.
/// \throws Error(output) when there is no room
void put(const FileHandle& file, std::int64_t at, std::string_view bytes);

} // namespace lull
