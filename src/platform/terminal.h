// The three streams that a program is given.
#pragma once

namespace hearwood {

/// stdin 0, stdout 1, stderr 2.
bool is_terminal(int stream);

/// A file opened while one of the three streams is closed would get its number, and what is meant
/// for the stream would be written into the file: such a stream is held open, for reading only, so
/// that writing to it still fails.
void hold_standard_streams();

/// Where whoever read stdout has closed it (a pager, `head`) there is nobody to tell, and the work
/// goes on; any other failure of stdout stays one.
void pass_over_closed_pipes();

}  // namespace hearwood
