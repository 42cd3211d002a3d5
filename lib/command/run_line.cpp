// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/run_line.hpp"

#include <array>
#include <cstdlib>
#include <ctime>
#include <unistd.h>

namespace lull {

namespace {

std::string utc_now() {
    const std::time_t now = std::time(nullptr);
    std::tm utc{};
    gmtime_r(&now, &utc);
    std::array<char, 32> clock{};
    std::strftime(clock.data(), clock.size(), "%Y-%m-%dT%H:%M:%SZ", &utc);
    return clock.data();
}

} // namespace

std::string run_line(const std::string& tool) {
    return utc_now() + " " + tool;
}

std::string run_line(int argc, char** argv) {
    std::array<char, 256> machine{};
    if (gethostname(machine.data(), machine.size() - 1) != 0) machine[0] = '?';
    const char* user = std::getenv("USER");
    std::string line = utc_now() + " " + (user != nullptr ? user : std::to_string(getuid())) + "@" +
                       machine.data();
    for (int i = 0; i < argc; ++i)
        line += std::string(" ") + argv[i];
    for (char& c : line)
        if (static_cast<unsigned char>(c) < 0x20) c = ' ';
    return line;
}

} // namespace lull
