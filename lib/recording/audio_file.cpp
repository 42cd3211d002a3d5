// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/audio_file.hpp"

#include "error.hpp"
#include "recording/internal/file_source.hpp"
#include "recording/internal/miniseed.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <utility>

namespace lull {

AudioFile::AudioFile(std::string path, std::shared_ptr<FileHandle> spooled, const AudioInfo& info)
    : path_(std::move(path)), source_(std::make_unique<FileSource>(
                                  path_, info.decoded ? info.decoded : std::move(spooled))),
      info_(info) {
    if (info_.miniseed) miniseed_ = std::make_unique<MiniseedReader>(*source_, info_.miniseed);
    if (info_.pcm_bytes != 0 || info_.miniseed) return;
    source_->show(info_.shown);
    source_->open_decoder();
}

AudioFile::~AudioFile() = default;

void AudioFile::fail_at(Frame frame) const {
    throw_input(path_, fmt::format("frame {}", frame), "can no longer be read",
                "do not change a recording while it is read");
}

void AudioFile::read(Frame first, Frame count, std::span<const TrackTarget> targets) {
    if (miniseed_) {
        if (const auto unread = miniseed_->read(first, count, targets)) fail_at(*unread);
        return;
    }
    const Frame end = first + count;
    std::vector<TrackTarget> moving(targets.begin(), targets.end());
    const auto move_by = [&](Frame frames) {
        for (TrackTarget& target : moving)
            target.samples += frames;
        first += frames;
    };
    auto lost = std::ranges::upper_bound(info_.lost, first, {}, &FrameRange::end);
    while (first < end) {
        const bool more_lost = lost != info_.lost.end() && lost->first < end;
        const Frame there = (more_lost ? std::max(first, lost->first) : end) - first;
        if (there > 0) read_sound(first, there, moving);
        move_by(there);
        if (!more_lost) return;
        const Frame gone = std::min(end, lost->end()) - first;
        for (const TrackTarget& target : moving)
            std::fill_n(target.samples, gone, 0.0F);
        move_by(gone);
        ++lost;
    }
}

void AudioFile::read_sound(Frame first, Frame count, std::span<const TrackTarget> targets) {
    if (info_.pcm_bytes != 0)
        read_plain(first, count, targets);
    else
        read_decoded(first, count, targets);
}

void AudioFile::read_plain(Frame first, Frame count, std::span<const TrackTarget> targets) {
    constexpr Frame step_bytes = 1 << 18;
    const Frame stride = Frame{info_.tracks} * info_.pcm_bytes;
    const Frame step = std::min(count, step_bytes / stride);
    bytes_.resize(static_cast<std::size_t>(step * stride + 1));
    std::vector<TrackTarget> moving(targets.begin(), targets.end());
    for (Frame done = 0; done < count; done += step) {
        const Frame now = std::min(step, count - done);
        const auto wanted = static_cast<std::size_t>(now * stride);
        if (source_->read_at(info_.pcm_at + (first + done) * stride, bytes_.data(), wanted) !=
            wanted)
            fail_at(first + done);
        decode_plain_pcm(bytes_.data(), now, info_.tracks, info_.pcm_bytes, moving);
        for (TrackTarget& target : moving)
            target.samples += now;
    }
}

bool AudioFile::go_to(Frame frame) {
    if (at_ == frame) return true;
    at_ = frame;
    return sf_seek(source_->decoder(), frame, SEEK_SET) == frame;
}

void AudioFile::read_decoded(Frame first, Frame count, std::span<const TrackTarget> targets) {
    constexpr Frame step_samples = 4096; // fits into the first-level cache
    const Frame step = std::max<Frame>(1, step_samples / info_.tracks);
    floats_.resize(static_cast<std::size_t>(step * info_.tracks));
    std::vector<TrackTarget> moving(targets.begin(), targets.end());
    if (!go_to(first)) fail_at(first);
    for (Frame done = 0; done < count;) {
        const sf_count_t got =
            sf_readf_float(source_->decoder(), floats_.data(), std::min(step, count - done));
        if (got <= 0) {
            at_ = -1;
            fail_at(first + done);
        }
        deinterleave(floats_.data(), got, info_.tracks, moving);
        for (TrackTarget& target : moving)
            target.samples += got;
        done += got;
        at_ += got;
    }
}

} // namespace lull
