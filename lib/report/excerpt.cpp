// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/excerpt.hpp"

#include "error.hpp"
#include "recording/atomic_file.hpp"
#include "recording/exercise_mark.hpp"
#include "recording/writer.hpp"
#include "report/pictures/png.hpp"
#include "signal/extent.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numbers>

namespace lull {
namespace {

/// Small letters, digits and single hyphens: a name that no file system or shell takes amiss.
std::string file_word(const std::string& name, int channel) {
    std::string word;
    for (const char character : name) {
        const bool digit = character >= '0' && character <= '9';
        const bool small = character >= 'a' && character <= 'z';
        const bool capital = character >= 'A' && character <= 'Z';
        if (digit || small)
            word += character;
        else if (capital)
            word += static_cast<char>(character - 'A' + 'a');
        else if (!word.empty() && word.back() != '-')
            word += '-';
    }
    while (word.ends_with('-'))
        word.pop_back();
    return word.empty() ? fmt::format("channel-{}", channel + 1) : word;
}

void remove_offset(std::span<float> samples) {
    if (samples.empty()) return;
    const auto mean =
        static_cast<float>(extent_of(samples).sum / static_cast<double>(samples.size()));
    for (float& sample : samples)
        sample -= mean;
}

void fade(std::span<float> samples, std::size_t frames) {
    frames = std::min(frames, samples.size() / 2);
    for (std::size_t i = 0; i < frames; ++i) {
        const double phase = (static_cast<double>(i) + 0.5) / static_cast<double>(frames);
        const auto weight = static_cast<float>(0.5 - 0.5 * std::cos(std::numbers::pi * phase));
        samples[i] *= weight;
        samples[samples.size() - 1 - i] *= weight;
    }
}

/// Frames of the recording that hold a stretch of time: {first, count}.
std::pair<Frame, Frame> frames_of(const Recording& recording, std::pair<double, double> from_to_s) {
    const auto first = static_cast<Frame>(std::floor(from_to_s.first * recording.rate_hz));
    const auto end = static_cast<Frame>(std::ceil(from_to_s.second * recording.rate_hz));
    return {first, std::max<Frame>(end - first, 1)};
}

/// The tracks of the excerpt, planar, before any gain: of the frames asked for, those that are in
/// the source.
Block tracks_of(const Block& source, std::pair<Frame, Frame> frames,
                const ExcerptRequest& request) {
    Block tracks;
    tracks.first = std::clamp(frames.first, source.first, source.first + source.frames);
    tracks.frames = std::clamp<Frame>(frames.first + frames.second - tracks.first, 0,
                                      source.first + source.frames - tracks.first);
    const bool apart = request.kind == ExcerptKind::pair;
    tracks.channels = apart ? static_cast<int>(request.channels.size()) : 1;
    tracks.samples.assign(static_cast<std::size_t>(tracks.frames * tracks.channels), 0.0F);
    const float share = request.kind == ExcerptKind::mix
                            ? 1.0F / static_cast<float>(request.channels.size())
                            : 1.0F;
    for (std::size_t i = 0; i < request.channels.size(); ++i) {
        const auto from = source.channel(request.channels[i])
                              .subspan(static_cast<std::size_t>(tracks.first - source.first),
                                       static_cast<std::size_t>(tracks.frames));
        const auto into = tracks.channel(apart ? static_cast<int>(i) : 0);
        for (std::size_t n = 0; n < from.size(); ++n)
            into[n] += share * from[n];
    }
    return tracks;
}

/// Gain that brings the largest sample to the limit; none for silence.
double gain_db_for(const Block& tracks, const ExcerptRules& rules) {
    const Extent extent = extent_of(tracks.samples);
    const auto level_db = amplitude_db(std::max(-extent.low, extent.high));
    return level_db ? std::min(rules.peak_db - *level_db, rules.largest_gain_db) : 0.0;
}

StartTime start_at(StartTime start, double time_s) {
    if (start.unix_s) *start.unix_s += time_s;
    return start;
}

void check(const ExcerptRequest& request, const Recording& recording) {
    const std::size_t count = request.channels.size();
    const std::size_t most = request.kind == ExcerptKind::channel ? 1
                             : request.kind == ExcerptKind::pair  ? 2
                                                                  : recording.channels.size();
    const bool right = count >= (request.kind == ExcerptKind::pair ? 2U : 1U) && count <= most;
    for (const int channel : request.channels)
        if (channel < 0 || channel >= static_cast<int>(recording.channels.size()))
            throw_usage("an excerpt of a channel that is not there", "a channel of the recording");
    if (!right)
        throw_usage(fmt::format("an excerpt of {} channels", count),
                    "one channel, a mix, or a pair");
}

} // namespace

std::string excerpt_name(const ExcerptRequest& request, const ExcerptRules& rules,
                         const Recording& recording) {
    std::string name = fmt::format("{}-{:03}", request.what, request.number);
    if (request.kind == ExcerptKind::mix) return name + "-mix" + rules.ending;
    for (const int channel : request.channels)
        name +=
            "-" + file_word(recording.channels.at(static_cast<std::size_t>(channel)).name, channel);
    return name + rules.ending;
}

std::pair<double, double> excerpt_stretch(const ExcerptRequest& request, const ExcerptRules& rules,
                                          const Recording& recording) {
    const double from_s = std::max(0.0, request.onset_s - rules.lead_s);
    return {from_s, std::min({request.end_s + rules.trail_s, from_s + rules.longest_s,
                              recording.duration_s()})};
}

const Block& cut_excerpt(const Recording& recording, const StretchOf& stretch,
                         std::pair<double, double> from_to_s) {
    const auto [first, count] = frames_of(recording, from_to_s);
    return stretch(first, count);
}

ExcerptSound make_sound(const Recording& recording, const Block& cut,
                        std::pair<double, double> from_to_s, const ExcerptRequest& request,
                        const ExcerptRules& rules) {
    check(request, recording);
    Block tracks = tracks_of(cut, frames_of(recording, from_to_s), request);
    for (int c = 0; c < tracks.channels; ++c) {
        remove_offset(tracks.channel(c));
        fade(tracks.channel(c), static_cast<std::size_t>(rules.fade_s * recording.rate_hz));
    }
    const double gain_db = gain_db_for(tracks, rules);
    const auto gain = static_cast<float>(db_to_amplitude(gain_db));
    for (float& sample : tracks.samples)
        sample *= gain;

    AudioFormat format;
    format.rate_hz = recording.rate_hz;
    format.tracks = tracks.channels;
    format.samples = SampleFormat::pcm_16;
    format.expected_frames = tracks.frames;
    format.start = start_at(recording.start, recording.seconds(tracks.first));
    format.in_haste = true;
    if (recording.exercise) format.description = exercise_mark;
    ExcerptSound sound{.about = {.file = excerpt_name(request, rules, recording),
                                 .number = request.number,
                                 .kind = request.kind,
                                 .channels = request.channels,
                                 .from_s = recording.seconds(tracks.first),
                                 .to_s = recording.seconds(tracks.first + tracks.frames),
                                 .gain_db = gain_db},
                       .bytes = {}};
    AudioWriter writer(rules.ending, format, sound.bytes);
    writer.write(tracks);
    writer.close();
    return sound;
}

std::string sound_script(std::span<const ExcerptSound> sounds) {
    std::string tracks;
    for (const ExcerptSound& sound : sounds)
        tracks += fmt::format("{}{{\"channel\":{},\"gain_db\":{:.4f},\"sound\":\"{}\"}}",
                              tracks.empty() ? "" : ",\n", sound.about.channels.front(),
                              sound.about.gain_db, to_base64(sound.bytes));
    return fmt::format("lullSound({{\"from\":{:.6f},\"tracks\":[{}]}});\n",
                       sounds.front().about.from_s, tracks);
}

Excerpt write_excerpt(const Recording& recording, const StretchOf& stretch,
                      const ExcerptRequest& request, ExcerptRules rules, const std::string& path) {
    check(request, recording);
    rules.ending = std::filesystem::path(path).extension().string();
    const auto from_to_s = excerpt_stretch(request, rules, recording);
    ExcerptSound sound = make_sound(recording, cut_excerpt(recording, stretch, from_to_s),
                                    from_to_s, request, rules);
    write_file(path, sound.bytes);
    sound.about.file = std::filesystem::path(path).filename().string();
    return sound.about;
}

} // namespace lull
