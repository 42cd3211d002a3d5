// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/tool.hpp"

#include "command/interrupt.hpp"
#include "detect/false_rate.hpp"
#include "error.hpp"
#include "report/one_line.hpp"
#include "review/progress.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <new>
#include <system_error>
#include <utility>

namespace lull {
namespace {

const std::vector<std::string> table_endings{".csv", ".json", ".jsonl"};
constexpr const char *input_group = "Input", *analysis_group = "Analysis",
                     *results_group = "Results", *general_group = "General";

int status_of(ErrorKind kind) {
    switch (kind) {
    case ErrorKind::usage:
        return Status::usage_error;
    case ErrorKind::input:
        return Status::no_input;
    case ErrorKind::output:
        return Status::failed;
    }
    return Status::failed;
}

} // namespace

Tool::Tool(const char* name, const char* purpose, std::vector<Example> examples)
    : name_(name), app_(purpose, name_), examples_(std::move(examples)) {
    app_.set_version_flag("--version", name_ + " " LULL_VERSION, "Print the version and exit")
        ->group(general_group);
    app_.set_help_flag("--help,-h", "Print this help and exit")->group(general_group);
    app_.set_help_all_flag("--describe", "Print what --help says as JSON and exit")->group("");
    app_.add_flag("--quiet", quiet_, "Write only errors to standard error")->group(general_group);
}

CLI::Option* Tool::reads(CLI::Option* option) {
    files_.add_input(option);
    return option->type_name("FILE")->group(input_group);
}

CLI::Option* Tool::writes(CLI::Option* option) {
    files_.add_output(option);
    return option->type_name("FILE")->group(results_group);
}

CLI::Option* Tool::writes_folder(CLI::Option* option) {
    files_.add_output_folder(option);
    return option->type_name("FOLDER")->group(results_group);
}

void Tool::refuse_outputs_among(const std::vector<std::string>& inputs) const {
    files_.refuse_outputs_among(inputs, name_);
}

void Tool::add_input(InputOptions& options) {
    reads(app_.add_option("INPUT", options.input,
                          "Audio file, session file (.json), or - for standard input"))
        ->required();
    add_input_options(options);
}

void Tool::add_inputs(InputOptions& options) {
    reads(app_.add_option("INPUT", options.inputs,
                          "Audio files that follow each other, a folder of them, a session file "
                          "(.json), or - for standard input"))
        ->required();
    add_input_options(options);
}

void Tool::add_input_options(InputOptions& options) {
    reads(app_.add_option("--session", options.open.session_file,
                          "Session file that describes a bare file's channels"));
    CLI::Option* channels = app_.add_option_function<std::string>(
        "--channels",
        [&options](const std::string& text) { options.open.channels = split_names(text); },
        "Only these channels: names or numbers from 1, with commas");
    shown_as(channels, "NAMES", "all")->group(input_group);
    app_.add_flag("--allow-outside", options.open.allow_outside,
                  "Let a session name files outside its own folder")
        ->group(input_group);
    CLI::Option* from = app_.add_option(
        "--from", options.from,
        "Begin: seconds, m:ss or h:mm:ss from the start, or a clock time HH:MM:SS when the "
        "start is known");
    shown_as(from, "TIME", "the start")->group(input_group);
    shown_as(app_.add_option("--to", options.to, "End, in the same forms"), "TIME", "the end")
        ->group(input_group);
    CLI::Option* band = app_.add_option("--band", options.band, "Analysis band in Hz");
    shown_as(band, "LO-HI", "60 to the lower of 2000 and 0.4 of the rate")->group(analysis_group);
    CLI::Option* jobs = app_.add_option("--jobs", options.jobs, "Threads in all");
    shown_as(jobs, "NUMBER", "one for each processor")
        ->check(whole_between(1, 4096))
        ->group(analysis_group);
}

void Tool::add_table_output(TableOutput& output) {
    writes(app_.add_option("-o,--output", output.file,
                           "Write to FILE (.csv, .json or .jsonl) in place of standard output"));
    CLI::Option* format = app_.add_option(
        "--format", output.format,
        "CSV, one JSON document, or JSON Lines, which begin before the analysis ends");
    shown_as(format, "TEXT", "by the ending of FILE, else csv")
        ->check(one_of({"csv", "json", "jsonl"}))
        ->group(results_group);
    expect_output({"--output", &output.file, table_endings, &output.format});
}

CLI::Option* Tool::add_table_file(const std::string& option, std::string& file,
                                  const std::string& about) {
    expect_output({option, &file, table_endings});
    return writes(app_.add_option(option, file, about));
}

void Tool::add_picture_file(const std::string& option, std::string& file,
                            const std::string& about) {
    expect_output({option, &file, {".svg"}});
    writes(app_.add_option(option, file, about));
}

void Tool::add_withhold(std::string& file) {
    reads(app_.add_option("--withhold", file,
                          "Stretches (from_s, to_s) of which to hand on neither sound nor picture"))
        ->group(results_group);
}

void Tool::add_listing(double& confidence, std::optional<double>& false_per_hour) {
    CLI::Option* option =
        app_.add_option("--list-from", confidence, "Hide events under this confidence");
    shown_as(option, "NUMBER", "0.1")->check(number_between(0.0, 1.0))->group(results_group);
    option = app_.add_option("--false-per-hour", false_per_hour,
                             "Of each kind list only events so certain that the bench of hearing "
                             "counted at most this many false ones an hour, 1 to 30");
    shown_as(option, "NUMBER")
        ->check(number_between(least_false_per_hour, most_false_per_hour))
        ->group(results_group);
}

void Tool::add_horns(std::string& file) {
    reads(app_.add_option("--horns", file, "Patterns of horn blasts under the local rules (JSON)"))
        ->default_str("the built-in rules")
        ->group(analysis_group);
}

void Tool::add_hail_channel(std::string& name) {
    CLI::Option* option = app_.add_option(
        "--hail-channel", name,
        "The channel at the team: tapping and voices that are strong there and weaker "
        "on all others are its own calls and knocks");
    shown_as(option, "NAME")->group(analysis_group);
}

void Tool::add_folder_output(std::string& folder) {
    writes_folder(app_.add_option("-o,--output", folder, "Folder for the results"))->required();
    expect_output({"--output", &folder, {}, nullptr, true});
}

void Tool::say(const std::string& text) const {
    const std::string line = name_ + ": " + one_line(text) + "\n";
    std::fwrite(line.data(), 1, line.size(), stderr);
}

std::optional<int> Tool::parse(int argc, char** argv) {
    try {
        app_.parse(argc, argv);
        return std::nullopt;
    } catch (const CLI::Success& asked) { // --help, --version
        if (dynamic_cast<const CLI::CallForVersion*>(&asked) != nullptr)
            (void)app_.exit(asked);
        else
            (void)std::fputs((dynamic_cast<const CLI::CallForAllHelp*>(&asked) != nullptr
                                  ? description_json(app_, examples_)
                                  : help_text(app_, examples_))
                                 .c_str(),
                             stdout);
        return std::fflush(stdout) == 0 ? Status::done : Status::failed;
    } catch (const CLI::ParseError& fault) {
        say(refusal(app_, fault));
        return Status::usage_error;
    }
}

int Tool::run(int argc, char** argv, const std::function<int()>& body) {
    try {
        watch_for_interrupts();
        if (const std::optional<int> ended = parse(argc, argv)) return *ended;
        files_.refuse_clashes(name_);
        check_outputs(outputs_);
        const int status = body();
        if (std::fflush(stdout) != 0 || std::ferror(stdout) != 0)
            throw_output("standard output", std::strerror(errno), "");
        return status;
    } catch (const Interrupted& asked) {
        say("interrupted; nothing half-written was kept");
        return 128 + asked.signal;
    } catch (const Error& fault) {
        say(fault.what());
        return status_of(fault.kind);
    } catch (const std::bad_alloc&) {
        say(out_of_memory);
    } catch (const std::system_error& fault) {
        const bool threads = fault.code() == std::errc::resource_unavailable_try_again;
        say(threads ? std::string("the system grants no further thread; give fewer --jobs")
                    : std::string("internal failure: ") + fault.what());
    } catch (const std::exception& fault) {
        say(std::string("internal failure: ") + fault.what());
    }
    return Status::failed;
}

} // namespace lull
