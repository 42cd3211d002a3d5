// SPDX-License-Identifier: GPL-3.0-or-later
//
// A recording of any length that is computed while it is read, without a file.
#pragma once

#include "recording/recording.hpp"

#include <algorithm>
#include <functional>
#include <memory>
#include <string>
#include <utility>

namespace lull::test {

using SampleAt = std::function<float(int channel, Frame frame)>;

class VirtualRecording : public Recording {
  public:
    VirtualRecording(int count, double rate, Frame length, SampleAt sample_at)
        : sample_at_(std::move(sample_at)) {
        for (int c = 0; c < count; ++c) {
            Channel channel;
            channel.name = "ch" + std::to_string(c + 1);
            channel.track = c + 1;
            channels.push_back(channel);
        }
        session.channels = channels;
        session.recordings.resize(1);
        rate_hz = rate;
        frames = length;
        start.source = "not known: times count from 0 s";
    }

    [[nodiscard]] std::unique_ptr<Stream> open() const override {
        return std::make_unique<Reader>(*this);
    }

  private:
    struct Reader : Stream {
        explicit Reader(const VirtualRecording& from) : recording(&from) {}
        void read(Frame first, Frame count, Block& block) override {
            block.first = std::clamp<Frame>(first, 0, recording->frames);
            block.frames =
                std::clamp<Frame>(first + count, block.first, recording->frames) - block.first;
            block.channels = static_cast<int>(recording->channels.size());
            block.samples.resize(static_cast<std::size_t>(block.frames * block.channels));
            block.non_finite.clear();
            block.missing.clear();
            for (int c = 0; c < block.channels; ++c)
                for (Frame n = 0; n < block.frames; ++n)
                    block.channel(c)[static_cast<std::size_t>(n)] =
                        recording->sample_at_(c, block.first + n);
        }
        const VirtualRecording* recording;
    };

    SampleAt sample_at_;
};

} // namespace lull::test
