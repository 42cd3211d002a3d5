// SPDX-License-Identifier: GPL-3.0-or-later
#include "error.hpp"
#include "recording/internal/intact_sound.hpp"
#include "recording/internal/miniseed.hpp"
#include "recording/internal/miniseed_contents.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

namespace lull {
namespace {

constexpr double tick_s = 100e-6; // resolution of times in records without blockette 1001
// smallest reported difference between a record's time and the place of its samples
constexpr double told_deviation_s = 1e-3;

/// Records of one channel that follow one another without a gap, in order.
using Stretch = std::vector<FoundRecord>;

/// Joins the records of one channel to stretches, in order of their starts. Two recordings of the
/// same time become two stretches, whatever the order of their records.
std::vector<Stretch> stretches_of(std::vector<FoundRecord> records, double rate_hz) {
    std::ranges::stable_sort(records, {}, &FoundRecord::start_us);
    const auto end_us = [rate_hz](const FoundRecord& record) {
        return static_cast<double>(record.start_us) + 1e6 * record.samples / rate_hz;
    };
    std::vector<Stretch> stretches;
    std::multimap<double, std::size_t> open; // stretches by their end [us]
    for (const FoundRecord& record : records) {
        const double slack_us = 1e6 * (0.5 / rate_hz + (record.whole_ticks ? tick_s : 0.0));
        const auto start_us = static_cast<double>(record.start_us);
        const auto before = open.lower_bound(start_us - slack_us);
        std::size_t stretch = stretches.size();
        if (before != open.end() && before->first <= start_us + slack_us) {
            stretch = before->second;
            open.erase(before);
        } else {
            stretches.emplace_back();
        }
        stretches[stretch].push_back(record);
        open.emplace(end_us(record), stretch);
    }
    return stretches;
}

/// Places one channel's records on the time line of the file.
class Placing {
  public:
    Placing(const MiniseedContents& contents, double rate_hz, std::int64_t origin_us)
        : contents_(&contents), rate_hz_(rate_hz), origin_us_(origin_us) {}

    MiniseedTrack place(const MiniseedContents::Source& source) {
        MiniseedTrack track;
        track.name = source.name;
        end_ = 0;
        before_ = nullptr;
        const std::vector<Stretch> stretches = stretches_of(source.records, rate_hz_);
        for (const Stretch& stretch : stretches) {
            Frame stands_at = std::llround(frame_of(stretch.front()));
            for (const FoundRecord& record : stretch) {
                const double off = static_cast<double>(stands_at) - frame_of(record);
                deviation_s_ = std::max(deviation_s_, std::abs(off) / rate_hz_);
                add(track, record, stands_at);
                before_ = &record;
                stands_at += record.samples;
            }
        }
        return track;
    }
    /// Adds what is missing at the end, once the length of the time line is known.
    void close(MiniseedTrack& track, const MiniseedContents::Source& source, Frame frames) const {
        const Frame end = end_of(track);
        if (end >= frames) return;
        const std::int64_t last = source.records.back().at;
        const bool is_lost = !contents_->damage.empty() && contents_->damage.back() > last;
        (is_lost ? track.lost : track.missing).push_back({end, frames - end});
    }
    static Frame end_of(const MiniseedTrack& track) {
        Frame end = 0;
        if (!track.segments.empty()) end = track.segments.back().frames.end();
        if (!track.lost.empty()) end = std::max(end, track.lost.back().end());
        return end;
    }
    [[nodiscard]] double deviation_s() const { return deviation_s_; }
    [[nodiscard]] Frame overlapping() const { return overlapping_; }

  private:
    [[nodiscard]] double frame_of(const FoundRecord& record) const {
        return static_cast<double>(record.start_us - origin_us_) * 1e-6 * rate_hz_;
    }
    [[nodiscard]] bool is_damaged_before(const FoundRecord& record) const {
        const auto at = std::ranges::upper_bound(contents_->damage, before_ ? before_->at : -1);
        return at != contents_->damage.end() && *at < record.at;
    }
    void add(MiniseedTrack& track, const FoundRecord& record, Frame stands_at) {
        const Frame until = stands_at + record.samples;
        if (stands_at > end_)
            (is_damaged_before(record) ? track.lost : track.missing)
                .push_back({end_, stands_at - end_});
        const Frame from = std::max(stands_at, end_);
        overlapping_ += std::min(until, from) - stands_at;
        if (until <= from) return;
        if (record.damaged)
            track.lost.push_back({from, until - from});
        else
            track.segments.push_back({record.at,
                                      record.bytes,
                                      static_cast<std::int32_t>(from - stands_at),
                                      {from, until - from}});
        end_ = until;
    }

    const MiniseedContents* contents_;
    double rate_hz_;
    std::int64_t origin_us_;
    Frame end_ = 0, overlapping_ = 0;
    double deviation_s_ = 0.0;
    const FoundRecord* before_ = nullptr; ///< the record before, in time
};

/// The rate of most samples.
double usual_rate(const MiniseedContents& contents) {
    std::map<double, std::int64_t> samples;
    for (const MiniseedContents::Source& source : contents.sources) {
        auto same = std::ranges::find_if(
            samples, [&](const auto& entry) { return is_same_rate(source.rate_hz, entry.first); });
        if (same == samples.end()) same = samples.emplace(source.rate_hz, 0).first;
        for (const FoundRecord& record : source.records)
            same->second += record.samples;
    }
    return std::ranges::max_element(samples, {}, [](const auto& entry) { return entry.second; })
        ->first;
}

/// Removes channels of another rate. A rate below lull's lowest usually belongs to data on the
/// recorder's own state.
void keep_usual_rate(MiniseedContents& contents, double rate_hz, AudioInfo& info) {
    for (const MiniseedContents::Source& source : contents.sources)
        if (!is_same_rate(source.rate_hz, rate_hz))
            info.notices.push_back(
                {fmt::format("channel {} is left out: it has {:g} Hz, and most samples {:g} Hz",
                             source.name, source.rate_hz, rate_hz),
                 source.rate_hz >= lowest_rate_hz});
    std::erase_if(contents.sources, [rate_hz](const MiniseedContents::Source& source) {
        return !is_same_rate(source.rate_hz, rate_hz);
    });
    std::ranges::sort(contents.sources, {}, &MiniseedContents::Source::name);
}

Frame total(const std::vector<FrameRange>& ranges) {
    Frame frames = 0;
    for (const FrameRange& range : ranges)
        frames += range.frames;
    return frames;
}

void tell_gaps(const MiniseedTrack& track, double rate_hz, AudioInfo& info) {
    if (track.missing.empty()) return;
    const auto seconds = [rate_hz](Frame frames) { return static_cast<double>(frames) / rate_hz; };
    info.notices.push_back(
        {fmt::format("nothing was recorded on {} for {:.6f} s, {} between {:.6f} s and {:.6f} s",
                     track.name, seconds(total(track.missing)),
                     track.missing.size() == 1 ? std::string("in one gap")
                                               : fmt::format("in {} gaps", track.missing.size()),
                     seconds(track.missing.front().first), seconds(track.missing.back().end())),
         false});
}

/// What is lost on any track, in order, disjoint.
std::vector<FrameRange> lost_on_any(const MiniseedIndex& index) {
    std::vector<FrameRange> all;
    for (const MiniseedTrack& track : index.tracks)
        all.insert(all.end(), track.lost.begin(), track.lost.end());
    std::ranges::sort(all, {}, &FrameRange::first);
    std::vector<FrameRange> apart;
    for (const FrameRange& range : all) {
        if (apart.empty() || range.first > apart.back().end())
            apart.push_back(range);
        else
            apart.back().frames = std::max(apart.back().end(), range.end()) - apart.back().first;
    }
    return apart;
}

std::int64_t earliest_us(const MiniseedContents& contents) {
    std::int64_t earliest = contents.sources.front().records.front().start_us;
    for (const MiniseedContents::Source& source : contents.sources)
        for (const FoundRecord& record : source.records)
            earliest = std::min(earliest, record.start_us);
    return earliest;
}

void refuse_long_silence(const std::string& path, const MiniseedIndex& index, double rate_hz) {
    for (const MiniseedTrack& track : index.tracks)
        for (const std::vector<FrameRange>* ranges : {&track.missing, &track.lost})
            for (const FrameRange& range : *ranges)
                if (static_cast<double>(range.frames) > longest_loss_s * rate_hz)
                    throw_input(path, track.name, "has records more than a day apart",
                                "give the parts before and after as files of their own");
}

void place_all(const std::string& path, const MiniseedContents& contents, AudioInfo& info) {
    const std::int64_t origin_us = earliest_us(contents);
    Placing placing(contents, info.rate_hz, origin_us);
    auto index = std::make_shared<MiniseedIndex>();
    for (const MiniseedContents::Source& source : contents.sources) {
        index->tracks.push_back(placing.place(source));
        info.frames = std::max(info.frames, Placing::end_of(index->tracks.back()));
    }
    for (std::size_t t = 0; t < index->tracks.size(); ++t) {
        placing.close(index->tracks[t], contents.sources[t], info.frames);
        tell_gaps(index->tracks[t], info.rate_hz, info);
        info.track_names.push_back(index->tracks[t].name);
    }
    refuse_long_silence(path, *index, info.rate_hz);
    if (placing.overlapping() > 0)
        info.notices.push_back(
            {fmt::format("its records overlap by {:.6f} s; the one that began earlier counts there",
                         static_cast<double>(placing.overlapping()) / info.rate_hz),
             false});
    if (placing.deviation_s() > told_deviation_s)
        info.notices.push_back({fmt::format("the times of its records and its rate differ by up "
                                            "to {:.6f} s; the rate counts within a stretch",
                                            placing.deviation_s()),
                                false});
    info.start_utc_s = static_cast<double>(origin_us) * 1e-6;
    info.lost = lost_on_any(*index);
    info.miniseed = std::move(index);
}

/// Whether it is miniSEED: a record at its start, or two consecutive ones near it.
bool begins_with_records(ByteWindow& file) {
    constexpr std::int64_t near_bytes = 1 << 14, step_bytes = 128;
    MiniseedRecord record;
    if (record.read_header(file, 0, 0)) return true;
    for (std::int64_t at = step_bytes; at < std::min(file.size(), near_bytes); at += step_bytes)
        if (const auto header = record.read_header(file, at, 0))
            if (record.read_header(file, at + header->bytes, 0)) return true;
    return false;
}

} // namespace

std::optional<AudioInfo> check_miniseed(const std::string& path, ByteWindow& file) {
    if (!begins_with_records(file)) return std::nullopt;
    MiniseedContents contents = miniseed_contents(file);
    if (contents.sources.empty())
        throw_input(path, "",
                    contents.unread.empty()
                        ? "holds no samples"
                        : fmt::format("holds samples of {} in an encoding that is not known",
                                      *contents.unread.begin()),
                    "give integers, floats, or Steim 1 or 2");
    AudioInfo info;
    info.rate_hz = usual_rate(contents);
    keep_usual_rate(contents, info.rate_hz, info);
    info.tracks = static_cast<int>(contents.sources.size());
    for (const std::string& source : contents.unread)
        info.notices.push_back(
            {"records of " + source + " are left out: their encoding is not known", true});
    info.format = "miniSEED, " + (contents.encodings.size() == 1 ? *contents.encodings.begin()
                                                                 : "several encodings");
    info.only_integers = contents.only_integers;
    info.cut_short = info.no_end = contents.cut_short;
    place_all(path, contents, info);
    if (std::ranges::all_of(info.miniseed->tracks,
                            [](const MiniseedTrack& track) { return track.segments.empty(); }))
        throw_input(path, "", "none of its records can be decoded", "give a whole recording");
    return info;
}

} // namespace lull
