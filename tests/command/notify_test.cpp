// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/notify.hpp"

#include <gtest/gtest.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <sys/stat.h>
#include <thread>
#include <unistd.h>
#include <vector>

namespace lull {
namespace {

namespace fs = std::filesystem;
using Clock = std::chrono::steady_clock;

constexpr double long_s = 20.0; // longest run of a program here, on a slow machine
constexpr double soon_s = 5.0;  // far longer than send takes, far shorter than long_s

class NotifierTest : public testing::Test {
  protected:
    void SetUp() override {
        std::string name = (fs::temp_directory_path() / "lull-notify-XXXXXX").string();
        ASSERT_NE(::mkdtemp(name.data()), nullptr);
        folder_ = name;
    }
    void TearDown() override { fs::remove_all(folder_); }

    /// A shell script that runs `before`, then appends its arguments to the file "heard" as one
    /// line.
    std::string program(const std::string& before) const {
        const std::string path = folder_ + "/say it.sh";
        std::ofstream(path) << "#!/bin/sh\ncd \"" << folder_ << "\"\n"
                            << before
                            << "\nline=; for text in \"$@\"; do line=\"$line[$text]\"; done\n"
                            << "echo \"$line\" >> heard\n";
        ::chmod(path.c_str(), 0700);
        return path;
    }
    std::string heard() const {
        std::ifstream file(folder_ + "/heard");
        return {std::istreambuf_iterator<char>(file), {}};
    }
    void touch(const std::string& name) const { std::ofstream(folder_ + "/" + name) << '\n'; }
    void wait_for(const std::string& name) const {
        const auto end = Clock::now() + std::chrono::duration<double>(long_s);
        while (!fs::exists(folder_ + "/" + name) && Clock::now() < end)
            std::this_thread::sleep_for(std::chrono::milliseconds(5));
        ASSERT_TRUE(fs::exists(folder_ + "/" + name)) << name;
    }

    std::string folder_;
};

TEST_F(NotifierTest, SendDoesNotWaitAndTheNextRunGetsWaitingTextsInOrder) {
    Notifier notifier(program("touch began; until [ -e go ]; do sleep 0.02; done"), long_s);
    notifier.send({"a b", "$(c)"});
    wait_for("began");
    const auto before = Clock::now();
    for (const char* text : {"d", "e", "f"})
        notifier.send({text});
    EXPECT_LT(std::chrono::duration<double>(Clock::now() - before).count(), soon_s);
    EXPECT_EQ(heard(), "");
    touch("go");
    notifier.finish();
    EXPECT_EQ(heard(), "[a b][$(c)]\n[d][e][f]\n");
    EXPECT_EQ(notifier.take_faults(), std::vector<std::string>{});
}

TEST_F(NotifierTest, StalledProgramIsEndedWithItsGroupAndTheNextTextsAreSent) {
    const std::string path = program("if [ ! -e began ]; then touch began; "
                                     "(while :; do touch alive; sleep 0.05; done) & sleep 60; fi");
    Notifier notifier(path, 2.0);
    notifier.send({"a"});
    wait_for("began");
    notifier.send({"b"});
    notifier.finish();
    EXPECT_EQ(heard(), "[b]\n");
    EXPECT_EQ(notifier.take_faults(), std::vector<std::string>{path + ": ended after 2 s"});
    EXPECT_EQ(notifier.take_faults(), std::vector<std::string>{}) << "each is told once";
    fs::remove(folder_ + "/alive");
    std::this_thread::sleep_for(std::chrono::milliseconds(500));
    EXPECT_FALSE(fs::exists(folder_ + "/alive"));
}

TEST_F(NotifierTest, NumberOfWaitingTextsIsBoundedAndDroppedOnesAreReported) {
    const std::string path =
        program("touch began; until [ -e go ]; do sleep 0.02; done; set -- $# \"$1\"");
    Notifier notifier(path, long_s);
    notifier.send({"a"});
    wait_for("began");
    notifier.send({"first"});
    notifier.send(std::vector<std::string>(notify_most_waiting + 6, "more"));
    touch("go");
    notifier.finish();
    EXPECT_EQ(heard(), "[1][a]\n[" + std::to_string(notify_most_waiting) + "][first]\n");
    EXPECT_EQ(
        notifier.take_faults(),
        std::vector<std::string>{path + ": 7 finds were not handed to it, for 1000 wait already"});
}

TEST_F(NotifierTest, FailureIsReportedAndNoProgramIsNoFault) {
    const auto fault_of = [](const std::string& command) {
        Notifier notifier(command, long_s);
        notifier.send({"a"});
        notifier.finish();
        const std::vector<std::string> faults = notifier.take_faults();
        return faults.size() == 1 ? faults.front() : std::to_string(faults.size()) + " faults";
    };
    const std::string path = program("exit 7");
    EXPECT_EQ(fault_of(path), path + ": failed with status 7");
    EXPECT_EQ(fault_of(program("kill -9 $$")), path + ": ended by signal 9");
    EXPECT_EQ(fault_of(folder_ + "/nowhere"),
              folder_ + "/nowhere: cannot be run: No such file or directory");
    Notifier none("");
    none.send({"a"});
    none.finish();
    EXPECT_EQ(none.take_faults(), std::vector<std::string>{});
}

} // namespace
} // namespace lull
