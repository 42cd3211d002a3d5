// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/follow.hpp"

#include "command/follow_options.hpp"
#include "command/interrupt.hpp"
#include "command/notify.hpp"
#include "error.hpp"
#include "recording/digest.hpp"
#include "recording/examined_files.hpp"
#include "recording/folder_watch.hpp"
#include "report/night.hpp"
#include "review/unit_store.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <map>
#include <optional>
#include <set>
#include <thread>
#include <utility>
#include <vector>

namespace lull {
namespace {

/// New files are taken in portions, so that a backlog does not delay the summary.
constexpr std::int64_t most_new_bytes = 256LL << 20;
/// Between two summaries lies four times the time that writing one took: a fifth of the time is
/// spent on writing.
constexpr double rest_share = 4.0;
/// Disk space left free, since a recorder may write on the same disk: an hour of six channels of 24
/// bits at 16 kHz.
constexpr std::uint64_t least_room_bytes = 1ULL << 30U;
/// The folder is also watched during a review, so that a file that arrives then is not taken for a
/// later one.
constexpr double watch_every_s = 1.0;
constexpr double told_again_within_s = 1.0; ///< a find this close to a reported one is the same

double steady_s() {
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch())
        .count();
}

class Following {
  public:
    Following(const Tool& tool, const InputOptions& inputs, const std::string& folder,
              const FollowOptions& options, const RequestFor& request_for)
        : tool_(&tool), inputs_(inputs), request_for_(&request_for), shown_(folder),
          folder_(folder, review_tool, inputs.inputs), watch_(inputs.inputs, options.settled_s),
          line_(tool.name(), tool.quiet()), notifier_(options.notify) {
        inputs_.open.examined = std::make_shared<ExaminedFiles>();
        folder_.leave_unfinished();
        if (inputs_.jobs == 0) inputs_.jobs = std::max(1, thread_count(0) - 1);
    }

    ~Following() { end_notifying(); }
    Following(const Following&) = delete;
    Following& operator=(const Following&) = delete;

    /// Takes the files that are there now, and reviews them if any is new.
    void look() {
        tell_faults();
        if (!take() && !(pending_ && is_due())) return;
        pending_ = true;
        if (taken_.empty()) return;
        need_room();
        try {
            run(false);
        } catch (const Error& fault) {
            if (fault.kind != ErrorKind::input) throw;
            // Not audio, or lost while it was read. The next round tries it again.
            if (!tool_->quiet() && told_.insert(fault.what()).second) tool_->say(fault.what());
        }
    }

    /// The last review. \return the status
    int finish(const TellOutcome& tell) {
        take();
        if (taken_.empty())
            throw_input(inputs_.inputs.front(), "",
                        lost_.empty() ? "no file came"
                                      : "no file was finished; " + lost_.front().label + " " +
                                            lost_.front().why,
                        "");
        for (;;) {
            need_room();
            try {
                const int status = run(true, &tell);
                end_notifying();
                throw_if_interrupted();
                return status;
            } catch (const Error& fault) {
                const auto lost = std::ranges::find(taken_, fault.file, &WatchedFile::path);
                if (fault.kind != ErrorKind::input || lost == taken_.end() || taken_.size() < 2)
                    throw;
                lost_.push_back(
                    {lost->path, lost->label, "could no longer be read: " + fault.fault});
                taken_.erase(lost);
            }
        }
    }

    void wait(double seconds) {
        const double end_s = steady_s() + seconds;
        do {
            line_({said()});
            std::this_thread::sleep_for(std::chrono::milliseconds(50));
        } while (steady_s() < end_s);
    }

  private:
    [[nodiscard]] std::string said() const {
        return fmt::format("following, {} {} taken", taken_.size(),
                           taken_.size() == 1 ? "file" : "files");
    }

    FolderView watch() {
        watched_s_ = steady_s();
        return watch_.look(inputs_.not_inputs, watched_s_);
    }

    /// \return whether anything is new
    bool take() {
        const FolderView view = watch();
        std::vector<WatchedFile> now;
        std::vector<LostInput> lost;
        std::int64_t new_bytes = 0;
        for (const WatchedFile& file : view.finished) {
            const bool known =
                std::ranges::find(taken_, file.path, &WatchedFile::path) != taken_.end();
            if (known || new_bytes < most_new_bytes) {
                now.push_back(file);
                new_bytes += known ? 0 : file.bytes;
            } else {
                lost.push_back({file.path, file.label, "had not been taken by then"});
            }
        }
        for (const WatchedFile& file : view.growing)
            lost.push_back({file.path, file.label, "was still being written"});
        for (const WatchedFile& file : taken_)
            if (!is_among(file, view.finished) && !is_among(file, view.growing))
                vanished_.push_back({file.path, file.label, "vanished after it had been taken"});
        std::erase_if(vanished_, [&](const LostInput& one) {
            return is_among({one.path, "", "", 0}, view.finished) ||
                   is_among({one.path, "", "", 0}, view.growing);
        });
        lost.insert(lost.end(), vanished_.begin(), vanished_.end());
        const bool changed =
            !std::ranges::equal(now, taken_, {}, &WatchedFile::state, &WatchedFile::state) ||
            !std::ranges::equal(now, taken_, {}, &WatchedFile::path, &WatchedFile::path);
        taken_ = std::move(now);
        lost_ = std::move(lost);
        return changed;
    }

    static bool is_among(const WatchedFile& file, const std::vector<WatchedFile>& files) {
        return std::ranges::find(files, file.path, &WatchedFile::path) != files.end();
    }

    /// \param tell  gets the outcome of the last review
    int run(bool last, const TellOutcome* tell = nullptr) {
        InputOptions inputs = inputs_;
        inputs.lost = lost_;
        inputs.only.emplace();
        for (const WatchedFile& file : taken_)
            inputs.only->push_back(file.path);
        if (!last) // the last review reports it
            for (const LostInput& lost : lost_)
                told_.insert(lost.label + ": skipped: " + lost.why);
        Job job(*tool_, inputs, last ? nullptr : &told_);
        Recording& recording = job.recording();
        digest(recording);
        ReviewRequest request = (*request_for_)(job);
        request.resume = true;
        request.interim = !last;
        double began_s = 0.0;
        request.heard = [&](const Recording&, const Analysis& found) {
            tell_strong(recording, found, request);
            began_s = steady_s();
            return last || is_due();
        };
        const ProgressSink shown =
            last ? job.progress() : ProgressSink([this](const auto&) { line_({said()}); });
        const ReviewOutcome outcome =
            review_into(folder_, recording, request, [&](const ProgressState& state) {
                shown(state);
                need_room();
                if (!last && steady_s() >= watched_s_ + watch_every_s) (void)watch();
            });
        job.end_progress();
        if (outcome.written) {
            pending_ = false;
            written_s_ = steady_s();
            took_s_ = written_s_ - began_s;
        }
        if (tell != nullptr) (*tell)(outcome);
        return outcome.degraded ? int{Status::degraded} : job.status();
    }

    [[nodiscard]] bool is_due() const { return steady_s() >= written_s_ + rest_share * took_s_; }

    /// Files that did not change since then are not read again for their digest.
    void digest(Recording& recording) {
        const std::vector<std::string> identities = identities_of(recording);
        for (std::size_t i = 0; i < identities.size(); ++i)
            if (const auto known = digests_.find(identities[i]); known != digests_.end())
                recording.inputs[i].sha256 = known->second;
        digest_inputs(recording);
        for (std::size_t i = 0; i < identities.size(); ++i)
            digests_[identities[i]] = recording.inputs[i].sha256;
    }

    void need_room() {
        const std::optional<std::uint64_t> room = folder_.room_bytes();
        if (room && *room < least_room_bytes)
            throw_output(shown_,
                         fmt::format("stopped following before the disk is full: {} MB are free",
                                     *room >> 20U),
                         "make room, then run the same command again");
    }

    void tell_strong(const Recording& recording, const Analysis& found,
                     const ReviewRequest& request) {
        const std::vector<Find> finds =
            gather_finds({&recording, recording.seconds(request.settings.from),
                          recording.seconds(request.settings.to), found.events, found.series,
                          found.hails, found.quiet, &found.findings, request.settings.log,
                          request.judgements, &request.settings.horns});
        std::vector<std::string> texts;
        std::vector<Find> fresh;
        for (const Find& find : finds) {
            if (find.confidence < strong_confidence || find.listened || was_told(find)) continue;
            texts.push_back(find_text(find, recording));
            fresh.push_back(find);
            line_.clear();
            tool_->say("strong find: " + texts.back());
        }
        told_finds_.insert(told_finds_.end(), fresh.begin(), fresh.end());
        notifier_.send(texts);
    }

    void tell_faults() {
        for (const std::string& fault : notifier_.take_faults()) {
            line_.clear();
            tool_->say("--notify: " + fault);
        }
    }

    void end_notifying() {
        notifier_.finish();
        tell_faults();
    }

    [[nodiscard]] bool was_told(const Find& find) const {
        return std::ranges::any_of(told_finds_, [&](const Find& told) {
            return find.from_s <= told.to_s + told_again_within_s &&
                   find.to_s >= told.from_s - told_again_within_s;
        });
    }

    const Tool* tool_;
    InputOptions inputs_;
    const RequestFor* request_for_;
    std::string shown_; ///< the folder as the user wrote it
    OutputFolder folder_;
    FolderWatch watch_;
    double watched_s_ = 0.0; ///< last time at which the folders were searched
    ProgressLine line_;
    Notifier notifier_;
    std::vector<WatchedFile> taken_;
    std::vector<LostInput> lost_, vanished_;
    std::set<std::string> told_;
    std::vector<Find> told_finds_;
    std::map<std::string, std::string> digests_; ///< by identity
    bool pending_ = false;                       ///< some result is not in the summary yet
    double written_s_ = 0.0, took_s_ = 0.0;      ///< of the last summary
};

} // namespace

int follow(const Tool& tool, const InputOptions& inputs, const std::string& folder,
           const FollowOptions& options, const RequestFor& request_for, const TellOutcome& tell) {
    const double end_s = end_of(options);
    check(inputs, folder);
    Following following(tool, inputs, folder, options, request_for);
    const double step_s = std::clamp(options.settled_s / 5.0, 0.1, 1.0);
    while (wall_clock_s() < end_s) {
        following.look();
        following.wait(std::clamp(end_s - wall_clock_s(), 0.0, step_s));
    }
    return following.finish(tell);
}

} // namespace lull
