// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/interrupt.hpp"

#include "review/progress.hpp"

#include <csignal>

namespace lull {
namespace {

volatile std::sig_atomic_t caught = 0;

extern "C" void on_signal(int number) {
    caught = number;
    std::signal(number, SIG_DFL); // a person who insists is obeyed
}

} // namespace

void watch_for_interrupts() {
    struct sigaction action = {};
    action.sa_handler = on_signal;
    sigaction(SIGINT, &action, nullptr);
    sigaction(SIGTERM, &action, nullptr);
}

int interrupt_signal() {
    return caught;
}

void throw_if_interrupted() {
    if (caught != 0) throw Interrupted(caught);
}

} // namespace lull
