// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/filter_recording.hpp"

#include "error.hpp"
#include "recording/exercise_mark.hpp"
#include "recording/start_time.hpp"
#include "recording/writer.hpp"
#include "review/unit_pass.hpp"
#include "signal/section_filter.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr Frame block_frames = 65536;
/// What a zero-phase filter needs before and after a stretch: its answer to one sample has died
/// away by then for corners of 20 Hz and more.
constexpr double surround_s = 1.0;

void scale(Block& block, float gain) {
    if (gain == 1.0F) return;
    for (float& sample : block.samples)
        sample *= gain;
}

/// Forward and backward over each stretch with its surroundings, so that stretches join without a
/// seam.
void filter_zero_phase(Stream& stream, const Sections& sections, Frame first, Frame count,
                       Frame surround, Block& block) {
    Block wide;
    const Frame begin = std::max<Frame>(0, first - surround);
    stream.read(begin, first - begin + count + surround, wide);
    block.first = first;
    block.frames = std::clamp<Frame>(wide.frames - (first - begin), 0, count);
    block.channels = wide.channels;
    block.samples.resize(static_cast<std::size_t>(block.frames * block.channels));
    for (int c = 0; c < wide.channels; ++c) {
        const std::vector<float> filtered =
            zero_phase(sections, wide.channel(c), static_cast<std::size_t>(surround) / 4);
        std::copy_n(filtered.begin() + (first - begin), block.frames, block.channel(c).begin());
    }
}

AudioFormat output_format(const Recording& recording, const Settings& settings) {
    AudioFormat format;
    format.rate_hz = recording.rate_hz;
    format.tracks = static_cast<int>(recording.channels.size());
    format.expected_frames = settings.to - settings.from;
    format.start = moved_start(recording.start, recording.seconds(settings.from));
    if (recording.exercise) format.description = exercise_mark;
    return format;
}

} // namespace

FilterOutcome filter_recording(const Recording& recording, const Settings& settings,
                               const FilterRequest& request, const std::string& file,
                               const ProgressSink& progress) {
    Sections sections;
    if (request.band) sections = analysis_filter(*request.band, recording.rate_hz);
    AudioWriter writer(file, output_format(recording, settings));
    const auto stream = recording.open();
    const auto gain = static_cast<float>(db_to_amplitude(request.gain_db));
    const auto surround = static_cast<Frame>(std::llround(surround_s * recording.rate_hz));
    SectionFilter filter(sections, static_cast<int>(recording.channels.size()));
    Block block;
    ProgressState state{"filtering", 0.0, recording.seconds(settings.to - settings.from)};
    for (Frame at = settings.from; at < settings.to; at += block.frames) {
        progress(state);
        const Frame count = std::min(block_frames, settings.to - at);
        if (request.zero_phase && !sections.empty()) {
            filter_zero_phase(*stream, sections, at, count, surround, block);
        } else {
            stream->read(at, count, block);
            if (at == settings.from) filter.prime(block);
            filter.push(block);
        }
        if (block.frames == 0) break;
        scale(block, gain);
        writer.write(block);
        state.done_s += recording.seconds(block.frames);
    }
    writer.close();
    return {settings.to - settings.from, writer.clipped()};
}

} // namespace lull
