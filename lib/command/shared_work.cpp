// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/shared_work.hpp"

#include "error.hpp"
#include "review/shared_units.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstdio>
#include <cstring>
#include <utility>

namespace lull {
namespace {

[[noreturn]] void refuse(const std::string& text) {
    throw_usage("--unit: '" + text + "' is no number of a unit",
                "give A or A-B, numbers that --units lists");
}

int whole_number(const std::string& text, std::string_view part) {
    int value = -1;
    const auto [end, fault] = std::from_chars(part.data(), part.data() + part.size(), value);
    if (fault != std::errc{} || end != part.data() + part.size() || value < 0) refuse(text);
    return value;
}

std::pair<int, int> parse_range(const std::string& text) {
    const std::string_view all = text;
    const std::size_t dash = all.find('-');
    const int first = whole_number(text, all.substr(0, dash));
    const int last =
        dash == std::string_view::npos ? first : whole_number(text, all.substr(dash + 1));
    if (last < first) refuse(text);
    return {first, last};
}

} // namespace

void add_shared_work_options(Tool& tool, SharedWorkOptions& options) {
    constexpr const char* group = "Several machines";
    CLI::Option* list = tool.app().add_flag(
        "--units", options.list,
        "List the independent units of work (number, begin and end in s), and do none");
    list->group(group);
    CLI::Option* some = tool.app().add_option(
        "--unit", options.units, "Do only unit A, or units A-B, into the folder of -o");
    shown_as(some, "A-B")->excludes(list)->group(group);
    tool.reads(tool.app().add_option("--gather", options.gathered,
                                     "Folders of --unit: join what they hold in place of doing it"))
        ->excludes(list)
        ->excludes(some)
        ->type_name("FOLDER")
        ->group(group);
}

void check(const SharedWorkOptions& options, const InputOptions& inputs, const std::string& folder,
           bool elsewise) {
    const bool shared = is_part(options) || !options.gathered.empty();
    if (folder.empty() && !options.list) throw_usage("--output is required", "give -o FOLDER");
    if (shared && elsewise)
        throw_usage("--units, --unit and --gather do not go with --resume, --follow or --blind",
                    "leave those out; a unit that is there is not done again");
    if (shared && std::ranges::find(inputs.inputs, "-") != inputs.inputs.end())
        throw_usage("--units, --unit and --gather with standard input",
                    "give files, which can be read again");
}

bool is_part(const SharedWorkOptions& options) {
    return options.list || !options.units.empty();
}

int do_part(const Tool& tool, Job& job, const SharedWorkOptions& options,
            const ReviewRequest& request) {
    if (options.list) {
        job.end_progress();
        const std::string text = units_text(job.recording(), request.settings);
        if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() ||
            std::fflush(stdout) != 0)
            throw_output("standard output", std::strerror(errno), "");
        return job.status();
    }
    const int earlier =
        do_units(job.recording(), request, parse_range(options.units), job.progress());
    job.end_progress();
    if (earlier > 0 && !tool.quiet())
        tool.say(fmt::format("{} of them had been done before", earlier));
    return job.status();
}

} // namespace lull
