// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/file_source.hpp"

#include "error.hpp"
#include "recording/internal/sndfile_lock.hpp"
#include "recording/written_text.hpp"

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <mutex>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>

namespace lull {

namespace {

/// Whether a name has an MPEG ending. MPEG audio is identified by content, so a name alone makes
/// none.
bool is_named_mpeg(const std::string& path) {
    const std::string ending = lower_case(std::filesystem::path(path).extension().string());
    return ending == ".mp1" || ending == ".mp2" || ending == ".mp3";
}

} // namespace

FileHandle::~FileHandle() {
    ::close(descriptor_);
}

FileSource::FileSource(std::string path, std::shared_ptr<FileHandle> spooled)
    : path_(std::move(path)), handle_(std::move(spooled)) {
    std::error_code ignored;
    if (!handle_ && std::filesystem::is_directory(path_, ignored))
        throw_input(path_, "", "is a folder", "give an audio file or a session file");
    if (!handle_) {
        // Non-blocking: a pipe among a folder's files may have no writer.
        const int descriptor = ::open(path_.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
        if (descriptor < 0) throw_input(path_, "", std::strerror(errno), "");
        handle_ = std::make_shared<FileHandle>(descriptor);
        named_ = true;
    }
    struct stat status {};
    if (::fstat(handle_->descriptor(), &status) != 0)
        throw_input(path_, "", std::strerror(errno), "");
    if (!S_ISREG(status.st_mode))
        throw_input(path_, "", "allows no random access", "give - to read standard input");
    size_ = status.st_size;
    if (size_ == 0) throw_input(path_, "", "is empty", "give a whole audio file");
}

FileSource::~FileSource() {
    if (decoder_ != nullptr) sf_close(decoder_);
}

std::size_t FileSource::read_at(std::int64_t offset, void* into, std::size_t count) const {
    std::size_t done = 0;
    while (done < count) {
        const ssize_t got = ::pread(handle_->descriptor(), static_cast<char*>(into) + done,
                                    count - done, offset + static_cast<std::int64_t>(done));
        if (got < 0 && errno == EINTR) continue;
        if (got <= 0) break;
        done += static_cast<std::size_t>(got);
    }
    return done;
}

ReadAt FileSource::as_function() const {
    return [this](std::int64_t offset, std::span<unsigned char> into) {
        return read_at(offset, into.data(), into.size());
    };
}

void FileSource::show(std::shared_ptr<const ShownBytes> bytes) {
    shown_ = std::move(bytes);
}

std::int64_t FileSource::shown_size() const {
    return shown_ ? shown_->size() : size_;
}

ReadAt FileSource::shown_as_function() const {
    if (!shown_) return as_function();
    return [this](std::int64_t offset, std::span<unsigned char> into) {
        return shown_->read(as_function(), offset, into);
    };
}

sf_count_t FileSource::length(void* user) {
    return static_cast<FileSource*>(user)->shown_size();
}

sf_count_t FileSource::seek(sf_count_t offset, int whence, void* user) {
    auto* self = static_cast<FileSource*>(user);
    const std::int64_t base = whence == SEEK_SET   ? 0
                              : whence == SEEK_CUR ? self->at_
                                                   : self->shown_size();
    // A header may send the decoder to any offset.
    if (__builtin_add_overflow(base, offset, &self->at_)) self->at_ = self->shown_size();
    return self->at_;
}

sf_count_t FileSource::read(void* into, sf_count_t count, void* user) {
    auto* self = static_cast<FileSource*>(user);
    if (self->at_ < 0 || count < 0) return 0;
    const auto got = static_cast<sf_count_t>(self->shown_as_function()(
        self->at_, {static_cast<unsigned char*>(into), static_cast<std::size_t>(count)}));
    self->at_ += got;
    return got;
}

sf_count_t FileSource::write(const void*, sf_count_t, void*) {
    return 0;
}

sf_count_t FileSource::tell(void* user) {
    return static_cast<FileSource*>(user)->at_;
}

SF_INFO FileSource::open_decoder() {
    if (decoder_ != nullptr) sf_close(std::exchange(decoder_, nullptr));
    at_ = 0;
    SF_VIRTUAL_IO io{&FileSource::length, &FileSource::seek, &FileSource::read, &FileSource::write,
                     &FileSource::tell};
    SF_INFO info{};
    std::string reason;
    {
        const std::scoped_lock lock(sndfile_open_mutex());
        decoder_ = sf_open_virtual(&io, SFM_READ, &info, this);
        if (decoder_ == nullptr) reason = sf_strerror(nullptr);
        // A few formats are recognised by their name alone.
        if (decoder_ == nullptr && named_ && !shown_ && !is_named_mpeg(path_)) {
            info = {};
            decoder_ = sf_open(path_.c_str(), SFM_READ, &info);
        }
    }
    if (decoder_ != nullptr) return info;
    if (named_ && is_named_mpeg(path_))
        throw_input(path_, "", "does not begin with a whole frame of MPEG audio",
                    "give the recording as the recorder wrote it");
    while (!reason.empty() && (reason.back() == '.' || reason.back() == ' '))
        reason.pop_back();
    throw_input(path_, "", "cannot be read as audio (" + reason + ")", "give a whole audio file");
}

} // namespace lull
