// SPDX-License-Identifier: GPL-3.0-or-later
//
// A trainee's sheet, and a truth.
#include "exercise/sheet.hpp"
#include "exercise/sheet_truth.hpp"
#include "fuzz.hpp"

#include <string_view>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    using namespace lull;
    test::may_refuse([&] {
        SheetContext context;
        static_cast<void>(
            parse_sheet({reinterpret_cast<const char*>(bytes), size}, "sheet", context));
    });
    const test::BytesAsFile file(bytes, size);
    test::may_refuse([&] { static_cast<void>(read_truth(file.path)); });
    return 0;
}
