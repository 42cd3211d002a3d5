// SPDX-License-Identifier: GPL-3.0-or-later
//
// A recording in memory and a folder to write to.
#pragma once

#include "recording/recording.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <unistd.h>
#include <vector>

namespace lull::test {

/// Three channels, ten seconds at 8 kHz; channels have names that would do harm if let through.
class MadeUp : public Recording {
  public:
    MadeUp() {
        rate_hz = 8000.0;
        frames = 80000;
        for (const char* name : {"stairwell", "=north,\"slab\"", "<script>alert(1)</script>"}) {
            Channel channel;
            channel.name = name;
            channel.kind = ChannelKind::seismic;
            channels.push_back(channel);
        }
        session.channels = channels;
        InputFile input;
        input.path = input.label = "a.wav";
        input.bytes = 44;
        inputs.push_back(input);
        start.source = "not known: times count from 0 s";
    }
    [[nodiscard]] std::unique_ptr<Stream> open() const override { return nullptr; }
};

class Folder {
  public:
    Folder() {
        static int count = 0;
        path_ = std::filesystem::temp_directory_path() /
                ("lull-report-" + std::to_string(::getpid()) + "-" + std::to_string(count++));
        std::filesystem::create_directories(path_);
    }
    ~Folder() { std::filesystem::remove_all(path_); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    [[nodiscard]] std::string at(const std::string& name) const { return (path_ / name).string(); }
    std::string write(const std::string& name, const std::string& bytes) const {
        std::ofstream(at(name), std::ios::binary) << bytes;
        return at(name);
    }
    [[nodiscard]] std::string read(const std::string& name) const {
        std::ifstream stream(at(name), std::ios::binary);
        return {std::istreambuf_iterator<char>(stream), {}};
    }

  private:
    std::filesystem::path path_;
};

} // namespace lull::test
