// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/file_recording.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

class FileStream : public Stream {
  public:
    explicit FileStream(const FileRecording& recording)
        : recording_(&recording), open_(recording.files.size()) {}

    void read(Frame first, Frame count, Block& block) override {
        const Frame begin = std::clamp<Frame>(first, 0, recording_->frames);
        const Frame end = std::clamp<Frame>(first + std::max<Frame>(count, 0), begin, recording_->frames);
        block.first = begin;
        block.frames = end - begin;
        block.channels = static_cast<int>(recording_->sources.size());
        block.samples.resize(static_cast<std::size_t>(block.frames * block.channels));
        block.non_finite.clear();
        block.missing.clear();
        covered_.assign(recording_->sources.size(), {});
        for (std::size_t f = 0; f < recording_->files.size(); ++f) read_file(f, block);
        for (int c = 0; c < block.channels; ++c) {
            fill_missing(c, block);
            clean(c, block);
        }
    }

  private:
    struct Part {
        Frame first, count; ///< within the block
    };

    void read_file(std::size_t f, Block& block) {
        const PlacedFile& file = recording_->files[f];
        const Frame begin = std::max(block.first, file.span.first);
        const Frame end = std::min(block.first + block.frames,
                                   file.span.first + file.span.frames - file.span.skip);
        if (begin >= end) return;
        // A recording of thousands of files keeps few of them open.
        if (!open_[f]) {
            if (opened_ >= most_open) close_others(f);
            open_[f] = std::make_unique<AudioFile>(file.path, file.spooled);
            ++opened_;
        }
        const int tracks = file.info.tracks;
        interleaved_.resize(static_cast<std::size_t>((end - begin) * tracks));
        const Frame got = open_[f]->read(begin - file.span.first + file.span.skip, interleaved_);
        if (got == 0) return;
        for (int c = 0; c < block.channels; ++c) {
            const FileRecording::Source& source = recording_->sources[static_cast<std::size_t>(c)];
            if (std::ranges::find(source.files, static_cast<int>(f)) == source.files.end()) continue;
            float* out = block.channel(c).data() + (begin - block.first);
            const float* in = interleaved_.data() + source.track;
            for (Frame n = 0; n < got; ++n) out[n] = source.sign * in[n * tracks];
            covered_[static_cast<std::size_t>(c)].push_back({begin - block.first, got});
        }
    }

    void close_others(std::size_t keep) {
        for (std::size_t f = 0; f < open_.size(); ++f)
            if (f != keep && open_[f]) open_[f].reset();
        opened_ = 0;
    }

    void fill_missing(int c, Block& block) {
        std::vector<Part>& parts = covered_[static_cast<std::size_t>(c)];
        std::ranges::sort(parts, {}, &Part::first);
        Frame at = 0;
        const auto missing = [&](Frame from, Frame to) {
            if (from >= to) return;
            std::fill_n(block.channel(c).begin() + from, to - from, 0.0F);
            block.missing.push_back({c, block.first + from, to - from});
        };
        for (const Part& part : parts) {
            missing(at, part.first);
            at = std::max(at, part.first + part.count);
        }
        missing(at, block.frames);
    }

    /// Replaces what is not a number by 0 and lists it. The product with 0 is NaN exactly then, so
    /// a clean channel costs one pass that a compiler can vectorise.
    static void clean(int c, Block& block) {
        const std::span<float> samples = block.channel(c);
        float doubt[8] = {};
        std::size_t n = 0;
        for (; n + 8 <= samples.size(); n += 8)
            for (std::size_t l = 0; l < 8; ++l) doubt[l] += samples[n + l] * 0.0F;
        for (; n < samples.size(); ++n) doubt[0] += samples[n] * 0.0F;
        if (std::ranges::all_of(doubt, [](float d) { return d == 0.0F; })) return;
        Frame run = 0;
        for (Frame i = 0; i <= static_cast<Frame>(samples.size()); ++i) {
            const bool bad = i < static_cast<Frame>(samples.size()) &&
                             !std::isfinite(samples[static_cast<std::size_t>(i)]);
            if (bad) {
                samples[static_cast<std::size_t>(i)] = 0.0F;
                ++run;
            } else if (run > 0) {
                block.non_finite.push_back({c, block.first + i - run, run});
                run = 0;
            }
        }
    }

    static constexpr std::size_t most_open = 128;
    const FileRecording* recording_;
    std::vector<std::unique_ptr<AudioFile>> open_;
    std::size_t opened_ = 0;
    std::vector<float> interleaved_;
    std::vector<std::vector<Part>> covered_;
};

} // namespace

std::unique_ptr<Stream> FileRecording::open() const { return std::make_unique<FileStream>(*this); }

} // namespace lull
