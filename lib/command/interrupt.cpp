// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/interrupt.hpp"

#include "review/progress.hpp"

#include <csignal>

namespace lull {
namespace {

volatile std::sig_atomic_t caught = 0;

extern "C" void on_signal(int number) {
    caught = number;
    std::signal(number, SIG_DFL); // a second signal ends the process at once
}

/// A handler instead of SIG_IGN, which child processes would inherit.
extern "C" void on_file_too_large(int) {}

void install(int number, void (*handler)(int)) {
    struct sigaction action = {};
    action.sa_handler = handler;
    sigaction(number, &action, nullptr);
}

bool is_ignored(int number) {
    struct sigaction action = {};
    return sigaction(number, nullptr, &action) == 0 && action.sa_handler == SIG_IGN;
}

} // namespace

void watch_for_interrupts() {
    for (const int number : {SIGINT, SIGTERM})
        install(number, on_signal);
    if (!is_ignored(SIGHUP)) install(SIGHUP, on_signal);
    install(SIGXFSZ, on_file_too_large);
}

int interrupt_signal() {
    return caught;
}

void throw_if_interrupted() {
    if (caught != 0) throw Interrupted(caught);
}

} // namespace lull
