// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/progress_line.hpp"

#include "command/interrupt.hpp"
#include "report/one_line.hpp"

#include <fmt/format.h>

#include <cstdio>
#include <cstdlib>
#include <unistd.h>
#include <utility>

namespace lull {
namespace {

constexpr auto redraw_every = std::chrono::milliseconds(250);
constexpr auto log_every = std::chrono::seconds(30);

std::string time_left(double seconds) {
    const auto whole = static_cast<long>(seconds + 0.5);
    if (whole < 60) return fmt::format("{} s", whole);
    if (whole < 3600) return fmt::format("{} min {:02} s", whole / 60, whole % 60);
    return fmt::format("{} h {:02} min", whole / 3600, whole / 60 % 60);
}

} // namespace

ProgressLine::ProgressLine(std::string tool, bool quiet)
    : tool_(std::move(tool)), quiet_(quiet), terminal_(isatty(STDERR_FILENO) != 0) {}

ProgressLine::~ProgressLine() {
    clear();
}

void ProgressLine::clear() {
    if (!drawn_) return;
    std::fputs("\r\x1b[K", stderr);
    drawn_ = false;
}

void ProgressLine::operator()(const ProgressState& state) {
    throw_if_interrupted();
    if (quiet_) return;
    const Clock::time_point now = Clock::now();
    const bool first = state.doing != doing_;
    if (first) {
        doing_ = state.doing;
        began_ = now;
    }
    const bool due = terminal_ ? now - shown_ >= redraw_every : now - shown_ >= log_every;
    if (first || due) draw(state, now);
}

void ProgressLine::draw(const ProgressState& state, Clock::time_point now) {
    shown_ = now;
    std::string text = tool_ + ": " + state.doing;
    const double elapsed_s = std::chrono::duration<double>(now - began_).count();
    if (state.total_s > 0.0 && state.done_s > 0.0 && elapsed_s > 0.0) {
        text += fmt::format(", {:.0f} %", 100.0 * state.done_s / state.total_s);
        const double speed = (state.done_s - state.earlier_s) / elapsed_s;
        if (speed > 0.0 && state.real_time) text += fmt::format(", {:.0f} times real time", speed);
        if (speed > 0.0) text += ", " + time_left((state.total_s - state.done_s) / speed) + " left";
    }
    if (!state.file.empty()) text += ", at " + one_line(state.file);
    if (terminal_) {
        fmt::print(stderr, "\r\x1b[K{}", text);
        drawn_ = true;
    } else {
        fmt::print(stderr, "{}\n", text);
    }
    std::fflush(stderr);
}

} // namespace lull
