// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/notify.hpp"

#include "command/interrupt.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstddef>
#include <cstring>
#include <fcntl.h>
#include <new>
#include <optional>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>
#include <utility>

namespace lull {
namespace {

/// Settings for posix_spawn: own process group, no input, both outputs to standard error.
class Manner {
  public:
    Manner() {
        posix_spawn_file_actions_init(&files);
        posix_spawn_file_actions_addopen(&files, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
        posix_spawn_file_actions_adddup2(&files, STDERR_FILENO, STDOUT_FILENO);
        posix_spawnattr_init(&attributes);
        posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP);
        posix_spawnattr_setpgroup(&attributes, 0);
    }
    ~Manner() {
        posix_spawn_file_actions_destroy(&files);
        posix_spawnattr_destroy(&attributes);
    }
    Manner(const Manner&) = delete;
    Manner& operator=(const Manner&) = delete;

    posix_spawn_file_actions_t files{};
    posix_spawnattr_t attributes{};
};

/// Exit status as waitpid gives it; empty: the process had to be ended.
std::optional<int> wait_for(pid_t process, double most_s) {
    const auto end = std::chrono::steady_clock::now() + std::chrono::duration<double>(most_s);
    int status = 0;
    while (::waitpid(process, &status, WNOHANG) == 0) {
        if (std::chrono::steady_clock::now() >= end || interrupt_signal() != 0) {
            ::kill(-process, SIGKILL);
            ::waitpid(process, &status, 0);
            return std::nullopt;
        }
        std::this_thread::sleep_for(std::chrono::milliseconds(20));
    }
    return status;
}

/// One run. \return what went wrong; empty: nothing
std::string run_command(const std::string& command, const std::vector<std::string>& texts,
                        double most_s) {
    std::vector<std::string> words{command};
    words.insert(words.end(), texts.begin(), texts.end());
    std::vector<char*> arguments;
    for (std::string& word : words)
        arguments.push_back(word.data());
    arguments.push_back(nullptr);
    const Manner manner;
    pid_t process = 0;
    const int fault = ::posix_spawnp(&process, command.c_str(), &manner.files, &manner.attributes,
                                     arguments.data(), environ);
    if (fault != 0) return command + ": cannot be run: " + std::strerror(fault);
    const std::optional<int> status = wait_for(process, most_s);
    if (!status && interrupt_signal() != 0)
        return command + ": ended, for this program was asked to";
    if (!status) return fmt::format("{}: ended after {:g} s", command, most_s);
    if (WIFSIGNALED(*status))
        return fmt::format("{}: ended by signal {}", command, WTERMSIG(*status));
    if (WEXITSTATUS(*status) != 0)
        return fmt::format("{}: failed with status {}", command, WEXITSTATUS(*status));
    return "";
}

} // namespace

Notifier::Notifier(std::string command, double most_s)
    : command_(std::move(command)), most_s_(most_s) {
    if (!command_.empty()) thread_ = std::thread([this] { work(); });
}

Notifier::~Notifier() {
    finish();
}

void Notifier::send(const std::vector<std::string>& texts) {
    if (command_.empty() || texts.empty()) return;
    const std::scoped_lock lock(mutex_);
    const std::size_t room = notify_most_waiting - waiting_.size();
    const std::size_t taken = std::min(room, texts.size());
    waiting_.insert(waiting_.end(), texts.begin(),
                    texts.begin() + static_cast<std::ptrdiff_t>(taken));
    if (taken < texts.size())
        faults_.push_back(fmt::format("{}: {} finds were not handed to it, for {} wait already",
                                      command_, texts.size() - taken, waiting_.size()));
    changed_.notify_all();
}

void Notifier::finish() {
    {
        const std::scoped_lock lock(mutex_);
        ends_ = true;
        changed_.notify_all();
    }
    if (thread_.joinable()) thread_.join();
}

std::vector<std::string> Notifier::take_faults() {
    const std::scoped_lock lock(mutex_);
    return std::exchange(faults_, {});
}

void Notifier::work() {
    std::unique_lock lock(mutex_);
    for (;;) {
        changed_.wait(lock, [this] { return ends_ || !waiting_.empty(); });
        if (waiting_.empty() || interrupt_signal() != 0) return;
        const std::vector<std::string> texts = std::exchange(waiting_, {});
        lock.unlock();
        std::string fault;
        try {
            fault = run_command(command_, texts, most_s_);
        } catch (const std::bad_alloc&) {
            fault = "out of memory";
        }
        lock.lock();
        if (!fault.empty()) faults_.push_back(std::move(fault));
    }
}

} // namespace lull
