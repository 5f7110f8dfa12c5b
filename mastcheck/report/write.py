"""Write files whole or not at all."""

from mastcheck.whole import write_all as write_all
from mastcheck.whole import write_whole as write_whole
