// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/last_resort.hpp"

#include "command/tool.hpp"

#include <cstdlib>
#include <cstring>
#include <errno.h> // program_invocation_short_name
#include <exception>
#include <new>
#include <unistd.h>

namespace lull {
namespace {

void put(const char* text) {
    static_cast<void>(::write(STDERR_FILENO, text, std::strlen(text)) < 0);
}

[[noreturn]] void end_process() {
    const char* why = "internal failure";
    try {
        if (const std::exception_ptr fault = std::current_exception())
            std::rethrow_exception(fault);
    } catch (const std::bad_alloc&) {
        why = Tool::out_of_memory;
    } catch (...) {
    }
    put(program_invocation_short_name);
    put(": ");
    put(why);
    put("\n");
    std::_Exit(Status::failed);
}

/// Before the first object of namespace scope is made: what they allocate may fail as well.
[[gnu::constructor(101)]] void begin_early() {
    const LastResort first;
}

} // namespace

LastResort::LastResort() noexcept {
    std::set_terminate(end_process);
}

} // namespace lull
