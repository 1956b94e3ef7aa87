// An open libsndfile handle and its owner.
#pragma once

#include <sndfile.h>

#include <memory>

namespace hearwood {

struct CloseSound {
    void operator()(SNDFILE* sound) const { sf_close(sound); }
};
using SoundHandle = std::unique_ptr<SNDFILE, CloseSound>;

}  // namespace hearwood
