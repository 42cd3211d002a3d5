// SPDX-License-Identifier: GPL-3.0-or-later
//
// SHA-256 (FIPS 180-4) of files and texts.
#pragma once

#include "recording/recording.hpp"

#include <atomic>
#include <memory>
#include <span>
#include <string>
#include <string_view>

namespace lull {

/// Digest of bytes that arrive in parts.
class Sha256 {
  public:
    Sha256();
    ~Sha256();
    Sha256(Sha256&&) noexcept;
    Sha256& operator=(Sha256&&) noexcept;
    void add(std::span<const char> bytes);
    [[nodiscard]] std::string hex(); ///< 64 lower-case digits; call once

  private:
    struct Context;
    std::unique_ptr<Context> context_;
};

/// \throws Error(input) when the file cannot be read
[[nodiscard]] std::string sha256_of_file(const std::string& path);
[[nodiscard]] std::string sha256_of_text(std::string_view text);

/// Like digest_inputs of recording.hpp, but once `stop` is set it ends early and leaves digests
/// empty.
void digest_inputs(Recording& recording, const std::atomic<bool>& stop);

} // namespace lull
