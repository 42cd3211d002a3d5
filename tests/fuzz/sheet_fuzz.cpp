// SPDX-License-Identifier: GPL-3.0-or-later
//
// A trainee's sheet, or judgements that serve as one, and a truth.
#include "fuzz.hpp"
#include "grading/sheet_judged.hpp"
#include "grading/sheet_truth.hpp"

#include <string_view>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    using namespace lull;
    test::may_refuse([&] {
        SheetContext context;
        static_cast<void>(parse_sheets({reinterpret_cast<const char*>(bytes), size}, "sheet",
                                       context, unknown_start()));
    });
    const test::BytesAsFile file(bytes, size);
    test::may_refuse([&] { static_cast<void>(read_truth(file.path)); });
    return 0;
}
