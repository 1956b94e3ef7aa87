// Sounds made from nothing: what the demo's recordings consist of. Samples are floats at
// kDemoSampleRate, 1.0 is full scale. All of it is our own invention; no recording of an animal was
// used.
#pragma once

#include <vector>

#include "demo/scenario.h"

namespace hearwood {

/// The samples of one file of the demo, kDemoFileSeconds long, in [-1, 1).
std::vector<float> synthesise(const DemoSite& site, const DemoFile& file);

}  // namespace hearwood
