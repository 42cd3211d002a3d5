// SPDX-License-Identifier: GPL-3.0-or-later
//
// A session file.
#include "fuzz.hpp"
#include "recording/session.hpp"
#include "recording/start_time.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    using namespace lull;
    const test::BytesAsFile file(bytes, size);
    test::may_refuse([&] { static_cast<void>(session_start(load_session(file.path, false))); });
    return 0;
}
