// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/ogg_pages.hpp"

#include "error.hpp"
#include "recording/internal/checksum.hpp"
#include "recording/internal/tags.hpp"

#include <algorithm>

namespace lull {
namespace {

constexpr std::size_t head_bytes = 27, check_at = 22, sequence_at = 18;
constexpr unsigned char continues = 1, begins_stream = 2, ends_stream = 4;

std::uint64_t little(ByteSpan bytes) {
    std::uint64_t number = 0;
    for (std::size_t i = bytes.size(); i-- > 0;)
        number = number << 8U | bytes[i];
    return number;
}

std::uint32_t check_of(ByteSpan page) {
    OggPageCheck check;
    const unsigned char zeros[4] = {};
    check.add(page.first(check_at));
    check.add(zeros);
    check.add(page.subspan(check_at + 4));
    return check.value;
}

/// Bytes of the page that begins there; 0: no whole page does.
std::int32_t whole_page_bytes(ByteWindow& file, std::int64_t at) {
    auto head = file.at(at, head_bytes);
    if (head.size() < head_bytes || !begins_with(head, "OggS") || head[4] != 0) return 0;
    const std::size_t lacing = head[26];
    head = file.at(at, head_bytes + lacing);
    if (head.size() < head_bytes + lacing) return 0;
    std::size_t bytes = head_bytes + lacing;
    for (std::size_t i = 0; i < lacing; ++i)
        bytes += head[head_bytes + i];
    const auto page = file.at(at, bytes);
    const bool whole = page.size() == bytes && check_of(page) == little(page.subspan(check_at, 4));
    return whole ? static_cast<std::int32_t>(bytes) : 0;
}

std::int64_t next_capture(ByteWindow& file, std::int64_t from) {
    while ((from = file.find('O', from, file.size())) < file.size() &&
           !begins_with(file.at(from, 4), "OggS"))
        ++from;
    return from;
}

/// Only a single stream can be placed.
class OneStream {
  public:
    explicit OneStream(const std::string& path) : path_(&path) {}

    void take(ByteSpan head) {
        const auto serial = static_cast<std::uint32_t>(little(head.subspan(14, 4)));
        const bool begins = (head[5] & begins_stream) != 0;
        if (pages_ > 0 && begins && audio_)
            refuse("one after another, of which each begins its times anew",
                   "give each of them as a file of its own");
        if (pages_ > 0 && (begins || serial != serial_))
            refuse("side by side", "give the one with the sound, without the others");
        serial_ = serial;
        audio_ = audio_ || !begins;
        ++pages_;
    }

  private:
    [[noreturn]] void refuse(const std::string& how, const std::string& mend) const {
        throw_input(*path_, "", "holds several Ogg streams " + how, mend);
    }
    const std::string* path_;
    std::int64_t pages_ = 0;
    std::uint32_t serial_ = 0;
    bool audio_ = false;
};

} // namespace

OggPages list_ogg_pages(const std::string& path, ByteWindow& file) {
    OggPages found;
    OneStream stream(path);
    std::int64_t skipped = 0;
    for (std::int64_t at = 0; at < file.size();) {
        const std::int32_t bytes = whole_page_bytes(file, at);
        if (bytes == 0) {
            const std::int64_t next = next_capture(file, at + 1);
            skipped += next - at;
            at = next;
            continue;
        }
        const auto head = file.at(at, head_bytes);
        stream.take(head);
        found.pages.push_back(
            {at, bytes, static_cast<std::uint32_t>(little(head.subspan(sequence_at, 4)))});
        at += bytes;
    }
    found.gapless = skipped == 0;
    found.reordered = !std::ranges::is_sorted(found.pages, std::less_equal(), &OggPage::sequence);
    std::ranges::stable_sort(found.pages, {}, &OggPage::sequence);
    const auto doubled =
        std::unique(found.pages.begin(), found.pages.end(),
                    [](const OggPage& a, const OggPage& b) { return a.sequence == b.sequence; });
    found.pages.erase(doubled, found.pages.end());
    return found;
}

OggPageHead ogg_page_head(ByteWindow& file, const OggPage& page) {
    const auto bytes = file.at(page.at, static_cast<std::size_t>(page.bytes));
    OggPageHead head;
    if (std::ssize(bytes) < page.bytes) return head; // the file has changed meanwhile
    head.continues = (bytes[5] & continues) != 0;
    head.begins_stream = (bytes[5] & begins_stream) != 0;
    head.ends_stream = (bytes[5] & ends_stream) != 0;
    head.granule = static_cast<std::int64_t>(little(bytes.subspan(6, 8)));
    head.serial = static_cast<std::uint32_t>(little(bytes.subspan(14, 4)));
    head.body_at = page.at + static_cast<std::int64_t>(head_bytes) + bytes[26];
    int packet = 0;
    for (std::size_t i = 0; i < bytes[26]; ++i) {
        const int lacing = bytes[head_bytes + i];
        packet += lacing;
        head.last_is_open = lacing == 255;
        if (head.last_is_open && i + 1U < bytes[26]) continue;
        head.pieces.push_back(packet);
        packet = 0;
    }
    return head;
}

void add_renumbered(std::vector<BytePiece>& pieces, ByteWindow& file, const OggPage& page,
                    std::uint32_t sequence, const std::string& body) {
    const auto bytes = file.at(page.at, static_cast<std::size_t>(page.bytes));
    if (std::ssize(bytes) < page.bytes) return;
    const std::size_t body_at = head_bytes + bytes[26];
    std::vector<unsigned char> mended(bytes.begin(), bytes.end());
    if (body.size() == mended.size() - body_at)
        std::copy(body.begin(), body.end(), mended.begin() + static_cast<std::ptrdiff_t>(body_at));
    const auto put = [&mended](std::size_t at, std::uint32_t number) {
        for (std::size_t i = 0; i < 4; ++i)
            mended[at + i] = static_cast<unsigned char>(number >> (8 * i));
    };
    put(sequence_at, sequence);
    put(check_at, check_of(mended));
    const bool other_body = !body.empty();
    const auto head_end =
        other_body ? mended.end() : mended.begin() + static_cast<std::ptrdiff_t>(body_at);
    pieces.push_back({0, 0, std::string(mended.begin(), head_end)});
    if (!other_body)
        add_piece(pieces, page.at + static_cast<std::int64_t>(body_at),
                  page.bytes - static_cast<std::int64_t>(body_at));
}

} // namespace lull
