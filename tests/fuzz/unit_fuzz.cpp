// SPDX-License-Identifier: GPL-3.0-or-later
//
// A unit's result in the journal. Its own writer and digests stand before it; what is refused here
// is refused with std::runtime_error.
#include "fuzz.hpp"
#include "review/internal/unit_form.hpp"

#include <stdexcept>
#include <string_view>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    using namespace lull;
    try {
        static_cast<void>(
            bytes_of_unit(unit_of_bytes({reinterpret_cast<const char*>(bytes), size})));
    } catch (const std::runtime_error&) {
    }
    return 0;
}
