// SPDX-License-Identifier: GPL-3.0-or-later
//
// The tables that tools read: events, delays, ranking, noise, judgements, withheld stretches, and
// the operators' log.
#include "account/disclosure.hpp"
#include "fuzz.hpp"
#include "recording/virtual_recording.hpp"
#include "report/read_tables.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    using namespace lull;
    static const test::VirtualRecording recording(3, 16000.0, 1600000,
                                                  [](int, Frame) { return 0.0F; });
    const test::BytesAsFile file(bytes, size);
    test::may_refuse([&] { static_cast<void>(read_events(file.path, recording)); });
    test::may_refuse([&] { static_cast<void>(read_delays(file.path, recording)); });
    test::may_refuse([&] { static_cast<void>(read_ranking(file.path, recording)); });
    test::may_refuse([&] { static_cast<void>(read_noise(file.path, recording)); });
    test::may_refuse([&] { static_cast<void>(read_judgements(file.path, recording.start)); });
    test::may_refuse([&] { static_cast<void>(read_withheld(file.path, recording.start)); });
    test::may_refuse([&] { static_cast<void>(read_log(file.path, recording)); });
    return 0;
}
