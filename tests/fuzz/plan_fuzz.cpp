// SPDX-License-Identifier: GPL-3.0-or-later
//
// An exercise plan.
#include "fuzz.hpp"
#include "synthesis/plan.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    using namespace lull;
    const test::BytesAsFile file(bytes, size);
    test::may_refuse([&] { static_cast<void>(load_plan(file.path)); });
    return 0;
}
