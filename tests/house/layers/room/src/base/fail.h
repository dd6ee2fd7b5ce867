	# include"num/root.h"
