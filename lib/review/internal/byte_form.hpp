// SPDX-License-Identifier: GPL-3.0-or-later
//
// Values as bytes of this machine, exactly: what one program writes for itself to read again.
//
// pass(form, value) writes or reads, whichever the form does, so that the two cannot differ.
#pragma once

#include <array>
#include <cstdint>
#include <cstring>
#include <map>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

namespace lull {

struct ByteWriter {
    static constexpr bool reads = false;
    std::string bytes;
    void raw(const void* data, std::size_t size) {
        bytes.append(static_cast<const char*>(data), size);
    }
};

/// Thrown when the bytes end too early, or cannot be what was written.
struct BytesDamaged : std::runtime_error {
    BytesDamaged() : std::runtime_error("the bytes are damaged") {}
};

struct ByteReader {
    static constexpr bool reads = true;
    std::string_view rest;
    void raw(void* data, std::size_t size) {
        if (size > rest.size()) throw BytesDamaged();
        if (size == 0) return; // an empty vector may have no place
        std::memcpy(data, rest.data(), size);
        rest.remove_prefix(size);
    }
};

template <class T>
concept PlainValue = std::is_arithmetic_v<T> || std::is_enum_v<T>;

template <class Form, PlainValue T>
void pass(Form& form, T& value) {
    form.raw(&value, sizeof value);
}

/// Any other byte than 0 and 1 would be no bool.
template <class Form>
void pass(Form& form, bool& value) {
    auto byte = static_cast<unsigned char>(value ? 1 : 0);
    form.raw(&byte, 1);
    if constexpr (Form::reads) {
        if (byte > 1) throw BytesDamaged();
        value = byte == 1;
    }
}

/// Gives the number of elements that follow: `now` when writing.
template <class Form>
std::size_t pass_size(Form& form, std::size_t now) {
    std::uint64_t size = now;
    pass(form, size);
    if constexpr (Form::reads)
        if (size > form.rest.size()) throw BytesDamaged(); // an element takes a byte at least
    return static_cast<std::size_t>(size);
}

template <class Form>
void pass(Form& form, std::string& text) {
    text.resize(pass_size(form, text.size()));
    form.raw(text.data(), text.size());
}

template <class Form, class T>
void pass(Form& form, std::optional<T>& value) {
    bool some = value.has_value();
    pass(form, some);
    if constexpr (Form::reads) value = some ? std::optional<T>(T{}) : std::nullopt;
    if (value) pass(form, *value);
}

template <class Form, class T, std::size_t size>
void pass(Form& form, std::array<T, size>& values) {
    for (T& value : values)
        pass(form, value);
}

/// The elements of a list; one that is read grows as its bytes come, since a size may be a lie.
template <class Form, class T, class PassOne>
void pass_each(Form& form, std::vector<T>& values, const PassOne& pass_one) {
    std::size_t left = pass_size(form, values.size());
    if constexpr (Form::reads)
        for (values.clear(); left > 0; --left)
            pass_one(values.emplace_back());
    else
        for (T& value : values)
            pass_one(value);
}

template <class Form, class T>
void pass(Form& form, std::vector<T>& values) {
    if constexpr (PlainValue<T>) {
        const std::size_t size = pass_size(form, values.size());
        if constexpr (Form::reads) {
            if (size > form.rest.size() / sizeof(T)) throw BytesDamaged();
            values.resize(size);
        }
        form.raw(values.data(), size * sizeof(T));
    } else {
        pass_each(form, values, [&form](T& value) { pass(form, value); });
    }
}

template <class Form, PlainValue Key, class T>
void pass(Form& form, std::map<Key, T>& values) {
    std::size_t left = pass_size(form, values.size());
    if constexpr (Form::reads) {
        for (values.clear(); left > 0; --left) {
            Key key{};
            pass(form, key);
            if (!values.empty() && key <= values.rbegin()->first) throw BytesDamaged();
            pass(form, values[key]);
        }
    } else {
        for (auto& [key, value] : values) {
            Key written = key;
            pass(form, written);
            pass(form, value);
        }
    }
}

/// Several values, one after another.
template <class Form, class... Values>
void pass_all(Form& form, Values&... values) {
    (pass(form, values), ...);
}

} // namespace lull
