// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/file_recording.hpp"
#include "recording/internal/miniseed.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>

namespace lull {
namespace {

/// Replaces samples that are not finite by 0 and lists them.
void clean(int channel, Block& block) {
    const std::span<float> samples = block.channel(channel);
    // All exponent bits are set in an infinity or a NaN. Integers vectorise without reordering
    // sums.
    constexpr std::uint32_t exponent = 0x7F800000;
    std::uint32_t doubt = 0;
    for (const float sample : samples)
        doubt |= (std::bit_cast<std::uint32_t>(sample) & exponent) == exponent ? 1U : 0U;
    if (doubt == 0) return;
    Frame run = 0;
    for (Frame n = 0; n <= block.frames; ++n) {
        if (n < block.frames && !std::isfinite(samples[static_cast<std::size_t>(n)])) {
            samples[static_cast<std::size_t>(n)] = 0.0F;
            ++run;
        } else if (run > 0) {
            block.non_finite.push_back({channel, block.first + n - run, run});
            run = 0;
        }
    }
}

class FileStream : public Stream {
  public:
    explicit FileStream(const FileRecording& recording)
        : recording_(&recording), open_(recording.files.size()),
          most_open_(2 * recording.groups.size()) {}

    void read(Frame first, Frame count, Block& block) override {
        const Frame begin = std::clamp<Frame>(first, 0, recording_->frames);
        const Frame wanted = std::clamp<Frame>(count, 0, recording_->frames);
        block.first = begin;
        block.frames = std::clamp<Frame>(first + wanted, begin, recording_->frames) - begin;
        block.channels = static_cast<int>(recording_->channels.size());
        block.samples.resize(static_cast<std::size_t>(block.frames * block.channels));
        block.non_finite.clear();
        block.missing.clear();
        block.lost.clear();
        if (block.frames == 0) return;
        for (const FileRecording::Group& group : recording_->groups)
            read_group(group, block);
        for (std::vector<Run>* runs : {&block.missing, &block.lost})
            std::ranges::sort(*runs, {},
                              [](const Run& run) { return std::pair(run.channel, run.first); });
        std::ranges::stable_sort(block.non_finite, {}, &Run::channel);
    }

  private:
    void read_group(const FileRecording::Group& group, Block& block) {
        const Frame end = block.first + block.frames;
        Frame at = block.first;
        bool only_integers = true;
        auto segment = std::ranges::upper_bound(group.segments, at, {}, &Segment::end);
        for (; segment != group.segments.end() && segment->begin < end; ++segment) {
            leave_empty(group, at, segment->begin, block);
            at = std::max(at, segment->begin);
            const Frame until = std::min(end, segment->end);
            read_segment(group, segment->file, at, until, block);
            only_integers =
                only_integers &&
                recording_->files[static_cast<std::size_t>(segment->file)].info.only_integers;
            at = until;
        }
        leave_empty(group, at, end, block);
        if (only_integers) return;
        for (const FileRecording::Group::Source& source : group.sources)
            clean(source.channel, block);
    }

    void read_segment(const FileRecording::Group& group, int file, Frame begin, Frame end,
                      Block& block) {
        targets_.clear();
        for (const auto& [channel, track] : group.sources) {
            const int polarity = recording_->channels[static_cast<std::size_t>(channel)].polarity;
            targets_.push_back({track_in(file, channel, track), static_cast<float>(polarity),
                                block.channel(channel).data() + (begin - block.first)});
        }
        const FileSpan& span = recording_->spans[static_cast<std::size_t>(file)];
        opened(static_cast<std::size_t>(file)).read(begin - span.first, end - begin, targets_);
        note_lost(group, file, begin, end, block);
    }

    [[nodiscard]] int track_in(int file, int channel, int track) const {
        if (!recording_->by_name) return track;
        const auto& names = recording_->files[static_cast<std::size_t>(file)].info.track_names;
        const std::string& name = recording_->channels[static_cast<std::size_t>(channel)].name;
        return static_cast<int>(std::ranges::find(names, name) - names.begin());
    }

    /// Lists what is damaged or missing in the file; those samples are 0 already.
    void note_lost(const FileRecording::Group& group, int file, Frame begin, Frame end,
                   Block& block) const {
        const AudioInfo& info = recording_->files[static_cast<std::size_t>(file)].info;
        const Frame file_first = recording_->spans[static_cast<std::size_t>(file)].first;
        for (const auto& [channel, track] : group.sources) {
            if (!info.miniseed) {
                note(channel, info.lost, file_first, begin, end, block.lost);
                continue;
            }
            const MiniseedTrack& one =
                info.miniseed->tracks[static_cast<std::size_t>(track_in(file, channel, track))];
            note(channel, one.lost, file_first, begin, end, block.lost);
            note(channel, one.missing, file_first, begin, end, block.missing);
        }
    }

    static void note(int channel, const std::vector<FrameRange>& ranges, Frame file_first,
                     Frame begin, Frame end, std::vector<Run>& runs) {
        for (auto range =
                 std::ranges::upper_bound(ranges, begin - file_first, {}, &FrameRange::end);
             range != ranges.end() && file_first + range->first < end; ++range) {
            const Frame first = std::max(begin, file_first + range->first),
                        last = std::min(end, file_first + range->end());
            runs.push_back({channel, first, last - first});
        }
    }

    static void leave_empty(const FileRecording::Group& group, Frame begin, Frame end,
                            Block& block) {
        if (begin >= end) return;
        for (const FileRecording::Group::Source& source : group.sources) {
            std::fill_n(block.channel(source.channel).begin() + (begin - block.first), end - begin,
                        0.0F);
            block.missing.push_back({source.channel, begin, end - begin});
        }
    }

    /// Keeps at most two files open for each group of channels, so that a recording of thousands of
    /// files needs few descriptors. The least recently used file is closed first.
    AudioFile& opened(std::size_t file) {
        if (!open_[file]) {
            if (in_use_.size() >= most_open_) {
                open_[in_use_.front()].reset();
                in_use_.erase(in_use_.begin());
            }
            const MeasuredFile& measured = recording_->files[file];
            open_[file] =
                std::make_unique<AudioFile>(measured.path, measured.spooled, measured.info);
        } else {
            std::erase(in_use_, file);
        }
        in_use_.push_back(file);
        return *open_[file];
    }

    const FileRecording* recording_;
    std::vector<std::unique_ptr<AudioFile>> open_;
    std::size_t most_open_;
    std::vector<std::size_t> in_use_;
    std::vector<TrackTarget> targets_;
};

} // namespace

std::unique_ptr<Stream> FileRecording::open() const {
    return std::make_unique<FileStream>(*this);
}

} // namespace lull
