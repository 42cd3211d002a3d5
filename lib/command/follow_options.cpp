// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/follow_options.hpp"

#include "error.hpp"
#include "recording/start_time.hpp"

#include <chrono>
#include <ctime>
#include <filesystem>
#include <limits>

namespace lull {

namespace fs = std::filesystem;

double wall_clock_s() {
    return std::chrono::duration<double>(std::chrono::system_clock::now().time_since_epoch())
        .count();
}

double end_of(const FollowOptions& options) {
    const std::string& text = options.until;
    if (text.empty()) return std::numeric_limits<double>::infinity();
    const double now_s = wall_clock_s();
    const auto whole = static_cast<std::time_t>(now_s);
    std::tm local{};
    localtime_r(&whole, &local);
    StartTime now; // the time is read on a time line that starts now by this machine's clock
    now.unix_s = now_s + static_cast<double>(local.tm_gmtoff);
    now.utc_offset_s = static_cast<int>(local.tm_gmtoff);
    const bool short_form = text.size() == 5 && text[2] == ':';
    try {
        return now_s + parse_time(short_form ? text + ":00" : text, now);
    } catch (const Error& fault) {
        throw_usage("--until: " + fault.fault, "give HH:MM, ISO 8601, or +HH:MM:SS from now");
    }
}

void check(const InputOptions& inputs, const std::string& folder) {
    std::error_code fault;
    const fs::path place = fs::weakly_canonical(fs::absolute(folder), fault).parent_path();
    for (const std::string& input : inputs.inputs) {
        if (!fs::exists(input, fault)) throw_input(input, "", "is not there", "give a folder");
        if (!fs::is_directory(input, fault))
            throw_usage("--follow: " + input + " is no folder", "give the folder that files go to");
        const fs::path relative =
            place.lexically_relative(fs::weakly_canonical(fs::absolute(input), fault));
        if (!relative.empty() && *relative.begin() != "..")
            throw_usage(folder + ": lies in " + input + ", whose files are followed",
                        "give a folder elsewhere");
    }
}

void add_follow_options(Tool& tool, FollowOptions& options) {
    constexpr const char* group = "Following a folder";
    CLI::Option* follow = tool.app().add_flag("--follow", options.follow,
                                              "Take new files of the folder as they are finished");
    follow->group(group);
    CLI::Option* until = tool.app().add_option(
        "--until", options.until, "End of following: HH:MM, ISO 8601, or +HH:MM:SS from now");
    shown_as(until, "TIME", "when it is interrupted")->needs(follow)->group(group);
    CLI::Option* notify = tool.app().add_option(
        "--notify", options.notify, "Program to run at a strong find, an argument for each");
    notify->needs(follow)->group(group);
    CLI::Option* settled = tool.app().add_option("--settled", options.settled_s,
                                                 "How long a finished file has not changed");
    shown_as(settled, "SECONDS", "10")
        ->needs(follow)
        ->check(number_between(0.1, 3600.0))
        ->group(group);
}

} // namespace lull
