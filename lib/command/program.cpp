// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/program.hpp"

#include "error.hpp"
#include "recording/digest.hpp"

namespace lull {

std::string program_digest() {
    try {
        return sha256_of_file("/proc/self/exe");
    } catch (const Error&) {
        return "";
    }
}

} // namespace lull
