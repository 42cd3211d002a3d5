// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/options.hpp"

#include "error.hpp"

#include <charconv>
#include <thread>

namespace lull {
namespace {

double whole_number(const std::string& text, const std::string& option) {
    double value = 0.0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (fault != std::errc{} || end != text.data() + text.size())
        throw_usage(option + ": '" + text + "' is not a frequency", "give LO-HI in Hz, as 60-2000");
    return value;
}

} // namespace

std::vector<std::string> split_names(const std::string& text) {
    std::vector<std::string> names;
    for (std::size_t begin = 0; begin <= text.size();) {
        const std::size_t end = std::min(text.find(',', begin), text.size());
        std::string name = text.substr(begin, end - begin);
        name.erase(0, name.find_first_not_of(' '));
        name.erase(name.find_last_not_of(' ') + 1);
        if (name.empty())
            throw_usage("'" + text + "' holds an empty channel name",
                        "give names or numbers from 1 with commas between them");
        names.push_back(std::move(name));
        begin = end + 1;
    }
    return names;
}

std::pair<double, double> parse_band(const std::string& text) {
    const std::size_t dash = text.find('-', 1);
    if (dash == std::string::npos)
        throw_usage("--band: '" + text + "' is not a band", "give LO-HI in Hz, as 60-2000");
    return {whole_number(text.substr(0, dash), "--band"),
            whole_number(text.substr(dash + 1), "--band")};
}

int thread_count(int jobs) {
    if (jobs > 0) return jobs;
    const unsigned processors = std::thread::hardware_concurrency();
    return processors == 0 ? 1 : static_cast<int>(processors);
}

} // namespace lull
