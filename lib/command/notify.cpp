// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/notify.hpp"

#include "command/interrupt.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstring>
#include <fcntl.h>
#include <optional>
#include <spawn.h>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

namespace lull {
namespace {

/// What posix_spawn is told: a group of its own, no input, both outputs to standard error.
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

/// How it ended; none: it had to be ended.
std::optional<int> wait_for(pid_t process) {
    const auto end =
        std::chrono::steady_clock::now() + std::chrono::duration<double>(notify_most_s);
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

} // namespace

std::string run_command(const std::string& command, const std::vector<std::string>& texts) {
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
    const std::optional<int> status = wait_for(process);
    throw_if_interrupted();
    if (!status) return fmt::format("{}: ended after {:g} s", command, notify_most_s);
    if (WIFSIGNALED(*status))
        return fmt::format("{}: ended by signal {}", command, WTERMSIG(*status));
    if (WEXITSTATUS(*status) != 0)
        return fmt::format("{}: failed with status {}", command, WEXITSTATUS(*status));
    return "";
}

} // namespace lull
